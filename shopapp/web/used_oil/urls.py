"""Addresses of the used-oil log."""

from django.urls import path

from shopapp.web.used_oil import views, views_rows

app_name = "used_oil"
urlpatterns = [
    path("", views.index, name="index"),
    path("new/", views.new, name="new"),
    path("table/", views.table, name="table"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/end/", views.end, name="end"),
    path("<int:pk>/reopen/", views.reopen, name="reopen"),
    path("<int:pk>/put-in/", views_rows.put_in, name="put_in"),
    path("<int:pk>/hand-over/", views_rows.hand_over, name="hand_over"),
    path("row/<slug:slug>/strike/", views_rows.strike, name="strike"),
]
