"""Addresses of the shop room."""

from django.urls import path

from shopapp.web.shop import views

app_name = "shop"
urlpatterns = [
    path("terms/", views.terms, name="terms"),
    path("chances/", views.chances, name="chances"),
    path("add-fee/", views.add_fee, name="add_fee"),
    path("fee/<int:pk>/remove-fee/", views.remove_fee, name="remove_fee"),
]
