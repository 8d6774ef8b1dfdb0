"""Families of engines: looked up by everybody, written by the owner."""

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions.spec_book import add_family, edit_family, remove_family
from shopapp.context import locale_of
from shopapp.models import EngineFamily
from shopapp.queries.spec_book import families_page, family_page, form_page
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.once import once
from shopapp.web.shared.paging import page_number
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row
from shopapp.web.spec_book.forms import EditFamilyForm, FamilyForm, family_values


@allowed(access.may_read_spec_book)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    is_all = request.GET.get("all") == "1"
    page = families_page(number=page_number(request), is_all=is_all, viewer=request.user)
    return render(request, "spec_book/index.html", {"page": page})


@allowed(access.may_read_spec_book)
@require_safe
def detail(request: StaffRequest, pk: int) -> HttpResponse:
    page = family_page(find_row(EngineFamily.objects, pk=pk), viewer=request.user, locale=locale_of(request))
    return render(request, "spec_book/detail.html", {"page": page})


@allowed(access.may_write_spec_book)
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: StaffRequest) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    form, by = FamilyForm(data, locale=locale_of(request)), actor_of(request)

    def effect() -> str:
        return reverse("spec_book:detail", args=[add_family(form.as_input(), by=by).pk])

    if data is not None and form.is_valid():
        location = attempt(form, lambda: once(request, effect, by=by))
        if location is not None:
            return HttpResponseRedirect(location)
    context = {"page": form_page(None), "form": form}
    return render(request, "spec_book/new.html", context, status=422 if data is not None else 200)


@allowed(access.may_write_spec_book)
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(EngineFamily.objects, pk=pk)
    form = EditFamilyForm(
        request.POST if request.method == "POST" else None,
        initial={**family_values(row), "version": row.version},
        locale=locale_of(request),
    )
    by = actor_of(request)

    def save() -> str:
        edit_family(row.pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return reverse("spec_book:detail", args=[row.pk])

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=family_values)
    if sent.location:
        return HttpResponseRedirect(sent.location)
    context = {"page": form_page(row, conflict=sent.conflict), "form": form}
    return render(request, "spec_book/edit.html", context, status=sent.status)


@allowed(access.may_write_spec_book)
@require_POST
def remove(request: StaffRequest, pk: int) -> HttpResponse:
    row, by = find_row(EngineFamily.objects, pk=pk), actor_of(request)

    def effect() -> str:
        remove_family(row.pk, by=by)
        return reverse("spec_book:index")

    location = once(request, effect, by=by)
    messages.success(request, _("The family is taken out of the book."))
    return HttpResponseRedirect(location)
