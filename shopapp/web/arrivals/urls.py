"""Addresses of the arrivals room."""

from django.urls import path

from shopapp.web.arrivals import views, views_custody, views_visit

app_name = "arrivals"
urlpatterns = [
    path("new/", views.new, name="new"),
    path("find/", views.find, name="find"),
    path("<int:pk>/taken-in/", views_visit.taken_in, name="taken_in"),
    path("<int:pk>/add-photo/", views_visit.add_photo, name="add_photo"),
    path("<int:pk>/terms/", views_visit.terms, name="terms"),
    path("<int:pk>/edit/", views_visit.edit, name="edit"),
    path("<int:pk>/people/", views_visit.people, name="people"),
    path("<int:pk>/sign-on-paper/", views_visit.sign_on_paper, name="sign_on_paper"),
    path("<int:pk>/hand-over/", views_visit.hand_over, name="hand_over"),
    path("<int:pk>/custody/", views_custody.custody, name="custody"),
    path("<int:pk>/take-back/", views_custody.take_back, name="take_back"),
    path("<int:pk>/sheet/", views_custody.sheet, name="sheet"),
    path("<int:pk>/tag/", views_custody.tag, name="tag"),
]
