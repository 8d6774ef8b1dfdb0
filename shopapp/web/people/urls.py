"""Addresses of the people room."""

from django.urls import path

from shopapp.web.people import views, views_own, views_staff, views_wages

app_name = "people"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign_in"),
    path("prove/", views.prove, name="prove"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("password/", views_own.password, name="password"),
    path("first-password/", views_own.first_password, name="first_password"),
    path("sessions/", views_own.sessions, name="sessions"),
    path("sessions/end-others/", views_own.end_others, name="end_others"),
    path("sessions/<slug:code>/end-session/", views_own.end_session, name="end_session"),
    path("second-step/", views_own.second_step, name="second_step"),
    path("second-step/renew-codes/", views_own.renew_codes, name="renew_codes"),
    path("second-step/remove-second-step/", views_own.remove_second_step, name="remove_second_step"),
    path("", views_staff.index, name="index"),
    path("new/", views_staff.new, name="new"),
    path("<int:pk>/", views_staff.detail, name="detail"),
    path("<int:pk>/change-roles/", views_staff.change_roles, name="change_roles"),
    path("<int:pk>/wages/", views_wages.wages, name="wages"),
    path("<int:pk>/remove-pin/", views_staff.remove_pin, name="remove_pin"),
    path("<int:pk>/give-password/", views_staff.give_password, name="give_password"),
    path("<int:pk>/end-sessions/", views_staff.end_sessions, name="end_sessions"),
    path("<int:pk>/switch-off/", views_staff.switch_off, name="switch_off"),
    path("<int:pk>/switch-on/", views_staff.switch_on, name="switch_on"),
]
