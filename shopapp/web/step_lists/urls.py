"""Addresses of the step lists."""

from django.urls import path

from shopapp.web.step_lists import views

app_name = "step_lists"
urlpatterns = [
    path("", views.index, name="index"),
    path("new/", views.new, name="new"),
    path("<int:pk>/edit/", views.edit, name="edit"),
]
