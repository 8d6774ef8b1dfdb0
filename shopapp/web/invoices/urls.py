"""Addresses of the invoices room."""

from django.urls import path

from shopapp.web.invoices import views

app_name = "invoices"
urlpatterns = [
    path("", views.index, name="index"),
    path("for/<int:pk>/draft/", views.draft, name="draft"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/issue/", views.issue, name="issue"),
    path("<int:pk>/pay/", views.pay, name="pay"),
    path("<int:pk>/paper/", views.paper, name="paper"),
]
