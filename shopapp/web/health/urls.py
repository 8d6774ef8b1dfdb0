"""Addresses of the health room."""

from django.urls import path

from shopapp.web.health import views

app_name = "health"
urlpatterns = [path("", views.index, name="index")]
