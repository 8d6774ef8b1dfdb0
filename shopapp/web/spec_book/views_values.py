"""The values of a family: written by the owner, one page each."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from shopapp import access
from shopapp.actions import spec_book
from shopapp.context import locale_of
from shopapp.models import EngineFamily
from shopapp.queries.spec_book import form_page
from shopapp.queries.spec_rows import MODELS, ValueKey, value_key
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row
from shopapp.web.spec_book.kinds import FORMS, kind_of


@allowed(access.may_write_spec_book)
@require_http_methods(["GET", "HEAD", "POST"])
def new_value(request: StaffRequest, pk: int) -> HttpResponse:
    family = find_row(EngineFamily.objects, pk=pk)
    data = request.POST if request.method == "POST" else None
    kind = kind_of((data or request.GET).get("kind_of_value", ""))
    form, by = FORMS[kind](data, locale=locale_of(request)), actor_of(request)

    def effect() -> str:
        spec_book.add_value(family.pk, form.as_input(), by=by)
        return _place(family.pk, kind)

    if data is not None and form.is_valid():
        location = attempt(form, lambda: once(request, effect, by=by))
        if location is not None:
            messages.success(request, _("It stands in the book."))
            return HttpResponseRedirect(location)
    context = {"page": form_page(family, kind=kind), "form": form}
    return render(request, "spec_book/value.html", context, status=422 if data is not None else 200)


@allowed(access.may_write_spec_book)
@require_http_methods(["GET", "HEAD", "POST"])
def value(request: StaffRequest, slug: str) -> HttpResponse:
    key, row = _found(slug)
    form = FORMS[key[0]](
        request.POST if request.method == "POST" else None,
        initial={**FORMS[key[0]].values_of(row), "version": row.version},
        locale=locale_of(request),
    )
    by = actor_of(request)

    def save() -> str:
        version = form.cleaned_data["version"] or 0
        spec_book.edit_value(key, form.as_input(), version=version, by=by)
        return _place(row.family_id, key[0])

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=FORMS[key[0]].values_of)
    if sent.location:
        return HttpResponseRedirect(sent.location)
    page = form_page(row.family, kind=key[0], slug=slug, conflict=sent.conflict)
    return render(request, "spec_book/value.html", {"page": page, "form": form}, status=sent.status)


@allowed(access.may_write_spec_book)
@require_POST
def remove_value(request: StaffRequest, slug: str) -> HttpResponse:
    (key, row), by = _found(slug), actor_of(request)

    def effect() -> str:
        spec_book.remove_value(key, by=by)
        return _place(row.family_id, key[0])

    location = once(request, effect, by=by)
    messages.success(request, _("It is taken out of the book. Readings keep the limit they were judged by."))
    return HttpResponseRedirect(location)


def _found(slug: str) -> tuple[ValueKey, Any]:
    key = value_key(slug)
    if key is None:
        raise Http404
    return key, find_row(MODELS[key[0]]._default_manager.select_related("family"), pk=key[1])


def _place(family_pk: int, kind: str) -> str:
    return f"{reverse('spec_book:detail', args=[family_pk])}#{kind}"
