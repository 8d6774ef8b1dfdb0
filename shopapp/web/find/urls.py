"""Addresses of the find room."""

from django.urls import path

from shopapp.web.find import views

app_name = "find"
urlpatterns = [
    path("", views.index, name="index"),
]
