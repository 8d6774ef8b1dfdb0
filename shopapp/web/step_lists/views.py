"""The shop's step lists, one for a kind of job: listed, written, changed."""

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from shopapp import access
from shopapp.actions.step_lists import edit_step_list, write_step_list
from shopapp.models import StepList
from shopapp.queries.step_pages import ListPage, list_rows
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row
from shopapp.web.step_lists.forms import EditStepListForm, StepListForm, list_values


@allowed(access.may_use_desk)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    return render(request, "step_lists/index.html", {"page": list_rows()})


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: StaffRequest) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    form, by = StepListForm(data), actor_of(request)

    def effect() -> str:
        write_step_list(form.as_input(), by=by)
        return reverse("step_lists:index")

    if data is not None and form.is_valid():
        location = attempt(form, lambda: once(request, effect, by=by))
        if location is not None:
            return HttpResponseRedirect(location)
    page = ListPage(pk=None, title=_("New step list"), conflict=None)
    context = {"page": page, "form": form}
    return render(request, "step_lists/new.html", context, status=422 if data is not None else 200)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(StepList.objects, pk=pk)
    form = EditStepListForm(
        request.POST if request.method == "POST" else None,
        initial={**list_values(row), "version": row.version},
    )
    by = actor_of(request)

    def save() -> str:
        edit_step_list(row.pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return reverse("step_lists:index")

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=list_values)
    if sent.location:
        return HttpResponseRedirect(sent.location)
    page = ListPage(pk=row.pk, title=row.title, conflict=sent.conflict)
    return render(request, "step_lists/edit.html", {"page": page, "form": form}, status=sent.status)
