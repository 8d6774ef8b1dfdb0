"""Addresses of the calls room."""

from django.urls import path

from shopapp.web.calls import views

app_name = "calls"
urlpatterns = [
    path("", views.index, name="index"),
    path("new/", views.new, name="new"),
    path("<int:pk>/edit/", views.edit, name="edit"),
    path("<int:pk>/close/", views.close, name="close"),
    path("<int:pk>/reopen/", views.reopen, name="reopen"),
]
