"""Addresses of the customers room."""

from django.urls import path

from shopapp.web.customers import views, views_data

app_name = "customers"
urlpatterns = [
    path("", views.index, name="index"),
    path("table/", views.table, name="table"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/data/", views_data.data, name="data"),
    path("<int:pk>/data-file/", views_data.data_file, name="data_file"),
    path("<int:pk>/erase/", views_data.erase, name="erase"),
    path("<int:pk>/edit/", views.edit, name="edit"),
    path("vessel/<int:pk>/", views.vessel, name="vessel"),
    path("engine/<int:pk>/", views.engine, name="engine"),
    path("engine/<int:pk>/put-in-service/", views.put_in_service, name="put_in_service"),
]
