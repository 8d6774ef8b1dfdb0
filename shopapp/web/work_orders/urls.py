"""Addresses of the work orders room."""

from django.urls import path

from shopapp.web.work_orders import views, views_holds, views_home, views_jobs, views_settings

app_name = "work_orders"
urlpatterns = [
    path("", views.index, name="index"),
    path("signs/", views.signs, name="signs"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/tell-customer/", views.tell_customer, name="tell_customer"),
    path("<int:pk>/hand-back/", views.hand_back, name="hand_back"),
    path("<int:pk>/calling-off/", views_home.calling_off, name="calling_off"),
    path("<int:pk>/release/", views_home.release, name="release"),
    path("<int:pk>/new-hold/", views_holds.new_hold, name="new_hold"),
    path("<int:pk>/new-job/", views_settings.new_job, name="new_job"),
    path("hold/<int:pk>/", views_holds.hold, name="hold"),
    path("hold/<int:pk>/release-hold/", views_holds.release_hold, name="release_hold"),
    path("hold/<int:pk>/restore-hold/", views_holds.restore_hold, name="restore_hold"),
    path("job/<int:pk>/settings/", views_settings.settings, name="settings"),
    path("job/<int:pk>/ending/", views_settings.ending, name="ending"),
    path("job/<int:pk>/way-back/", views_settings.way_back, name="way_back"),
    path("job/<int:pk>/waiver/", views_settings.waiver, name="waiver"),
    path("job/<int:pk>/small-work/", views_settings.small_work, name="small_work"),
    path("job/<int:pk>/cause/", views_settings.cause, name="cause"),
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
