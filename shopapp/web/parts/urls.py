"""Addresses of the parts room."""

from django.urls import path

from shopapp.web.parts import views

app_name = "parts"
urlpatterns = [
    path("", views.index, name="index"),
    path("table/", views.table, name="table"),
    path("suggestions/", views.suggestions, name="suggestions"),
    path("new/", views.new, name="new"),
    path("<int:pk>/edit/", views.edit, name="edit"),
    path("<int:pk>/label/", views.label, name="label"),
]
