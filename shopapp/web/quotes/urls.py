"""Addresses of the quotes room."""

from django.urls import path

from shopapp.web.quotes import views, views_lines

app_name = "quotes"
urlpatterns = [
    path("for/<int:pk>/start/", views.start, name="start"),
    path("<int:pk>/edit/", views.edit, name="edit"),
    path("<int:pk>/preview/", views.preview, name="preview"),
    path("<int:pk>/send/", views.send, name="send"),
    path("<int:pk>/revise/", views.revise, name="revise"),
    path("<int:pk>/hand-over/", views.hand_over, name="hand_over"),
    path("<int:pk>/paper/", views.paper, name="paper"),
    path("choice/<int:pk>/add-option/", views_lines.add_option, name="add_option"),
    path("option/<int:pk>/edit-option/", views_lines.edit_option, name="edit_option"),
    path("option/<int:pk>/remove-option/", views_lines.remove_option, name="remove_option"),
    path("option/<int:pk>/add-line/", views_lines.add_line, name="add_line"),
    path("line/<int:pk>/edit-line/", views_lines.edit_line, name="edit_line"),
    path("line/<int:pk>/remove-line/", views_lines.remove_line, name="remove_line"),
]
