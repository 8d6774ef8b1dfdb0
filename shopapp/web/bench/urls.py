"""Addresses of the bench."""

from django.urls import path

from shopapp.web.bench import views, views_dock, views_entries, views_review

app_name = "bench"
urlpatterns = [
    path("", views.index, name="index"),
    path("job/<int:pk>/", views.job, name="job"),
    path("dock/<int:pk>/", views_dock.dock, name="dock"),
    path("dock-photo/<slug:name>/", views_dock.dock_photo, name="dock_photo"),
    path("state/", views_entries.state, name="state"),
    path("key/", views_entries.key, name="key"),
    path("entries/", views_entries.entries, name="entries"),
    path("photo/", views_entries.photo, name="photo"),
    path("review/", views_review.review, name="review"),
    path("entry/<int:pk>/take/", views_review.take, name="take"),
    path("entry/<int:pk>/set-aside/", views_review.set_aside, name="set_aside"),
    path("tablet/<int:pk>/accept/", views_review.accept, name="accept"),
]
