"""Addresses that browsers ask for at the root."""

from django.urls import path

from shopapp.web.service_worker import views

app_name = "service_worker"
urlpatterns = [
    path("service-worker.js", views.service_worker, name="service_worker"),
    path("manifest.webmanifest", views.manifest, name="manifest"),
]
