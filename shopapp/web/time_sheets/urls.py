"""Addresses of the time sheets."""

from django.urls import path

from shopapp.web.time_sheets import views

app_name = "time_sheets"
urlpatterns = [
    path("", views.index, name="index"),
    path("<int:pk>/correct/", views.correct, name="correct"),
]
