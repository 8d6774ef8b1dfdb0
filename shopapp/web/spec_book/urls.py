"""Addresses of the spec book."""

from django.urls import path

from shopapp.web.spec_book import views, views_imports, views_values

app_name = "spec_book"
urlpatterns = [
    path("", views.index, name="index"),
    path("new/", views.new, name="new"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/edit/", views.edit, name="edit"),
    path("<int:pk>/remove/", views.remove, name="remove"),
    path("template/", views_imports.template, name="template"),
    path("<int:pk>/table/", views_imports.table, name="table"),
    path("<int:pk>/import-values/", views_imports.import_values, name="import_values"),
    path("<int:pk>/confirm-import/", views_imports.confirm_import, name="confirm_import"),
    path("<int:pk>/new-value/", views_values.new_value, name="new_value"),
    path("value/<slug:slug>/", views_values.value, name="value"),
    path("value/<slug:slug>/remove-value/", views_values.remove_value, name="remove_value"),
]
