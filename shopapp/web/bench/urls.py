"""Addresses of the bench."""

from django.urls import path

from shopapp.web.bench import views, views_entries

app_name = "bench"
urlpatterns = [
    path("", views.index, name="index"),
    path("job/<int:pk>/", views.job, name="job"),
    path("state/", views_entries.state, name="state"),
    path("key/", views_entries.key, name="key"),
    path("entries/", views_entries.entries, name="entries"),
    path("photo/", views_entries.photo, name="photo"),
]
