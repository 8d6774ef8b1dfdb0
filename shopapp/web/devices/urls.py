"""Addresses of the devices room."""

from django.urls import path

from shopapp.web.devices import views, views_bench

app_name = "devices"
urlpatterns = [
    path("", views.index, name="index"),
    path("new/", views.new, name="new"),
    path("<int:pk>/end/", views.end, name="end"),
    path("own-pin/", views.own_pin, name="own_pin"),
    path("who/", views_bench.who, name="who"),
    path("worker/<int:pk>/pin/", views_bench.pin, name="pin"),
    path("unlock/", views_bench.unlock, name="unlock"),
    path("lock/", views_bench.lock, name="lock"),
    path("touch/", views_bench.touch, name="touch"),
    path("leave/", views_bench.leave, name="leave"),
]
