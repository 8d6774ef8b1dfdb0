"""Addresses of the bench."""

from django.urls import path

from shopapp.web.bench import views

app_name = "bench"
urlpatterns = [
    path("", views.index, name="index"),
    path("job/<int:pk>/", views.job, name="job"),
]
