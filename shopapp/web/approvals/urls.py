"""Addresses of the approvals room."""

from django.urls import path

from shopapp.web.approvals import views, views_intake, views_questions

app_name = "approvals"
urlpatterns = [
    path("enter/<str:token>/", views.enter, name="enter"),
    path("decide/", views.decide, name="decide"),
    path("ask/", views_questions.ask, name="ask"),
    path("done/", views.done, name="done"),
    path("photo/<str:sha256>/", views.photo, name="photo"),
    path("answer-paper/", views.answer_paper, name="answer_paper"),
    path("paper/", views.paper, name="paper"),
    path("intake/enter/<str:token>/", views_intake.enter_intake, name="enter_intake"),
    path("intake/terms/", views_intake.terms, name="terms"),
    path("intake/signed/", views_intake.signed, name="signed"),
    path("intake/intake-paper/", views_intake.intake_paper, name="intake_paper"),
]
