"""Addresses of the customers room."""

from django.urls import path

from shopapp.web.customers import views

app_name = "customers"
urlpatterns = [
    path("", views.index, name="index"),
    path("table/", views.table, name="table"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/edit/", views.edit, name="edit"),
    path("vessel/<int:pk>/", views.vessel, name="vessel"),
    path("engine/<int:pk>/", views.engine, name="engine"),
]
