"""Addresses of the today room."""

from django.urls import path

from shopapp.web.today import views

app_name = "today"
urlpatterns = [
    path("", views.index, name="index"),
    path("recent/", views.recent, name="recent"),
    path("parked/", views.parked, name="parked"),
    path("park/", views.park, name="park"),
    path("parked/<int:pk>/discard/", views.discard, name="discard"),
]
