"""Addresses of the invoices room."""

from django.urls import path

from shopapp.web.invoices import views, views_drafts, views_money, views_sales

app_name = "invoices"
urlpatterns = [
    path("", views.index, name="index"),
    path("counter-sale/", views_sales.counter_sale, name="counter_sale"),
    path("table/", views_money.table, name="table"),
    path("payments/", views_money.payments, name="payments"),
    path("for/<int:pk>/draft/", views.draft, name="draft"),
    path("for/<int:pk>/deposits/", views_money.deposits, name="deposits"),
    path("line/<int:pk>/", views_drafts.line, name="line"),
    path("line/<int:pk>/leave-out/", views_drafts.leave_out, name="leave_out"),
    path("payment/<int:pk>/refund/", views_money.refund, name="refund"),
    path("payment/<int:pk>/receipt/", views_money.receipt, name="receipt"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/add-fee/", views_drafts.add_fee, name="add_fee"),
    path("<int:pk>/beyond/", views_drafts.beyond, name="beyond"),
    path("<int:pk>/check/", views_drafts.check, name="check"),
    path("<int:pk>/credit/", views_money.credit, name="credit"),
    path("<int:pk>/discard/", views_drafts.discard, name="discard"),
    path("<int:pk>/edit/", views_drafts.edit, name="edit"),
    path("<int:pk>/issue/", views.issue, name="issue"),
    path("<int:pk>/keep/", views_drafts.keep, name="keep"),
    path("<int:pk>/pay/", views.pay, name="pay"),
    path("<int:pk>/paper/", views.paper, name="paper"),
    path("<int:pk>/redraft/", views_drafts.redraft, name="redraft"),
    path("<int:pk>/take-in/", views_drafts.take_in, name="take_in"),
]
