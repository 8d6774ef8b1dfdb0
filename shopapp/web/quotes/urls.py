"""Addresses of the quotes room."""

from django.urls import path

from shopapp.web.quotes import (
    views,
    views_answers,
    views_comparison,
    views_jobs,
    views_lines,
    views_records,
    views_start_now,
    views_terms,
)

app_name = "quotes"
urlpatterns = [
    path("for/<int:pk>/start/", views.start, name="start"),
    path("for/<int:pk>/choose/", views_jobs.choose, name="choose"),
    path("for/<int:pk>/start-supplement/", views_jobs.start_supplement, name="start_supplement"),
    path("<int:pk>/jobs/", views_jobs.jobs, name="jobs"),
    path("<int:pk>/add-job/", views_jobs.add_job, name="add_job"),
    path("choice/<int:pk>/leave-job-out/", views_jobs.leave_job_out, name="leave_job_out"),
    path("records/", views_records.records, name="records"),
    path("record/<str:key>/", views_records.record, name="record"),
    path("known-parts/", views_terms.known_parts, name="known_parts"),
    path("<int:pk>/discount/", views_terms.discount, name="discount"),
    path("choice/<int:pk>/set-price-kind/", views_terms.set_price_kind, name="set_price_kind"),
    path("choice/<int:pk>/compare/", views_comparison.compare, name="compare"),
    path("choice/<int:pk>/weigh/", views_comparison.weigh, name="weigh"),
    path("option/<int:pk>/add-minimum-charge/", views_terms.add_minimum_charge, name="add_minimum_charge"),
    path("removed/<int:pk>/put-back/", views_jobs.put_back, name="put_back"),
    path("<int:pk>/edit/", views.edit, name="edit"),
    path("<int:pk>/preview/", views.preview, name="preview"),
    path("<int:pk>/send/", views.send, name="send"),
    path("<int:pk>/discard/", views.discard, name="discard"),
    path("<int:pk>/revise/", views.revise, name="revise"),
    path("<int:pk>/hand-over/", views.hand_over, name="hand_over"),
    path("<int:pk>/paper/", views.paper, name="paper"),
    path("<int:pk>/send-link/", views_answers.send_link, name="send_link"),
    path("<int:pk>/revoke-link/", views_answers.revoke_link, name="revoke_link"),
    path("<int:pk>/answer-paper/", views_answers.answer_paper, name="answer_paper"),
    path("<int:pk>/answer-by-phone/", views_answers.answer_by_phone, name="answer_by_phone"),
    path("question/<int:pk>/answer-question/", views_answers.answer_question, name="answer_question"),
    path("job/<int:pk>/start-now/", views_start_now.start_now, name="start_now"),
    path("choice/<int:pk>/add-option/", views_lines.add_option, name="add_option"),
    path("option/<int:pk>/edit-option/", views_lines.edit_option, name="edit_option"),
    path("option/<int:pk>/remove-option/", views_lines.remove_option, name="remove_option"),
    path("option/<int:pk>/add-line/", views_lines.add_line, name="add_line"),
    path("line/<int:pk>/edit-line/", views_lines.edit_line, name="edit_line"),
    path("line/<int:pk>/remove-line/", views_lines.remove_line, name="remove_line"),
]
