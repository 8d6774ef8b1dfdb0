"""Addresses of the work orders room."""

from django.urls import path

from shopapp.web.work_orders import views, views_jobs

app_name = "work_orders"
urlpatterns = [
    path("", views.index, name="index"),
    path("signs/", views.signs, name="signs"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/tell-customer/", views.tell_customer, name="tell_customer"),
    path("<int:pk>/hand-back/", views.hand_back, name="hand_back"),
    path("job/<int:pk>/assign/", views.assign, name="assign"),
    path("job/<int:pk>/findings/", views_jobs.findings, name="findings"),
    path("job/<int:pk>/bench/", views_jobs.bench, name="bench"),
    path("job/<int:pk>/start-diagnosis/", views_jobs.start_diagnosis, name="start_diagnosis"),
    path("job/<int:pk>/start-work/", views_jobs.start_work, name="start_work"),
    path("job/<int:pk>/finish-work/", views_jobs.finish_work, name="finish_work"),
    path("job/<int:pk>/add-photo/", views_jobs.add_photo, name="add_photo"),
    path("job/<int:pk>/use-part/", views_jobs.use_part, name="use_part"),
    path("job/<int:pk>/log-time/", views_jobs.log_time, name="log_time"),
    path("job/<int:pk>/log-fluid/", views_jobs.log_fluid, name="log_fluid"),
    path("job/<int:pk>/record-test/", views_jobs.record_test, name="record_test"),
]
