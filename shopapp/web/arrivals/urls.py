"""Addresses of the arrivals room."""

from django.urls import path

from shopapp.web.arrivals import views

app_name = "arrivals"
urlpatterns = [
    path("new/", views.new, name="new"),
    path("find/", views.find, name="find"),
]
