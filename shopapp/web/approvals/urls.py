"""Addresses of the approvals room."""

from django.urls import path

from shopapp.web.approvals import views, views_questions

app_name = "approvals"
urlpatterns = [
    path("enter/<str:token>/", views.enter, name="enter"),
    path("decide/", views.decide, name="decide"),
    path("ask/", views_questions.ask, name="ask"),
    path("done/", views.done, name="done"),
    path("photo/<str:sha256>/", views.photo, name="photo"),
    path("answer-paper/", views.answer_paper, name="answer_paper"),
    path("paper/", views.paper, name="paper"),
]
