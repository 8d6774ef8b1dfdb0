"""Addresses of the media room."""

from django.urls import path

from shopapp.web.media import views

app_name = "media"
urlpatterns = [
    path("photo/<int:pk>/", views.photo, name="photo"),
]
