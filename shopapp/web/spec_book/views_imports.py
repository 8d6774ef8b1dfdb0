"""Tables of values: taken over after a look at each row, and handed out with the same heads."""

from django import forms
from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions.spec_imports import import_values as store_values
from shopapp.context import locale_of
from shopapp.files.csv_imports import MOST_BYTES, read_text, read_upload
from shopapp.models import EngineFamily
from shopapp.queries.spec_book import form_page
from shopapp.queries.spec_rows import MODELS, ValueKind
from shopapp.queries.tables import Table
from shopapp.web.shared.downloads import table_file
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row
from shopapp.web.spec_book.imports import Preview, column_words, columns_of, preview
from shopapp.web.spec_book.kinds import FORMS, kind_of


class TableForm(ShopForm):
    """A CSV file."""

    table = forms.FileField(
        label=gettext_lazy("CSV file"), widget=forms.FileInput(attrs={"accept": ".csv,text/csv"})
    )


class ConfirmForm(ShopForm):
    """The text of the table that was looked at."""

    table = forms.CharField(
        label=gettext_lazy("Table"), max_length=MOST_BYTES, widget=forms.Textarea, strip=False
    )


@allowed(access.may_write_spec_book)
@require_http_methods(["GET", "HEAD", "POST"])
def import_values(request: StaffRequest, pk: int) -> HttpResponse:
    family, kind = find_row(EngineFamily.objects, pk=pk), _kind(request)
    if request.method != "POST":
        return _page(request, family, kind=kind, form=TableForm())
    form = TableForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, family, kind=kind, form=form, status=422)
    upload = form.cleaned_data["table"]
    brought = attempt(form, lambda: read_upload(upload, size=upload.size, heads=columns_of(kind)))
    if brought is None:
        return _page(request, family, kind=kind, form=form, status=422)
    seen = preview(brought, family=family, kind=kind, locale=locale_of(request))
    return _page(request, family, kind=kind, form=form, seen=seen)


@allowed(access.may_write_spec_book)
@require_POST
def confirm_import(request: StaffRequest, pk: int) -> HttpResponse:
    family, kind, by = find_row(EngineFamily.objects, pk=pk), _kind(request), actor_of(request)
    form, stored = ConfirmForm(request.POST), list[int]()

    def effect() -> str:
        seen = _seen(request, family, kind=kind, text=form.cleaned_data["table"])
        stored.append(store_values(family.pk, seen.values, by=by))
        return f"{reverse('spec_book:detail', args=[family.pk])}#{kind}"

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is None:
        return _page(request, family, kind=kind, form=form, status=422)
    count = stored[0] if stored else 0
    told = ngettext("%(count)s value is taken over.", "%(count)s values are taken over.", count)
    messages.success(request, told % {"count": count} if stored else _("It was taken over already."))
    return HttpResponseRedirect(location)


@allowed(access.may_write_spec_book)
@require_safe
def template(request: StaffRequest) -> HttpResponseBase:
    kind = _kind(request)
    return table_file(request, Table(name=kind, columns=columns_of(kind), rows=iter(())))


@allowed(access.may_read_spec_book)
@require_safe
def table(request: StaffRequest, pk: int) -> HttpResponseBase:
    family, kind = find_row(EngineFamily.objects, pk=pk), _kind(request)
    columns, form = columns_of(kind), FORMS[kind]
    rows = MODELS[kind]._default_manager.filter(family=family).order_by("pk")
    told = ([form.values_of(row)[name] for name in columns] for row in rows)
    return table_file(request, Table(name=f"{kind}-{family.pk}", columns=columns, rows=told))


def _seen(request: StaffRequest, family: EngineFamily, *, kind: ValueKind, text: str) -> Preview:
    brought = read_text(text, heads=columns_of(kind))
    return preview(brought, family=family, kind=kind, locale=locale_of(request))


def _page(
    request: StaffRequest,
    family: EngineFamily,
    *,
    kind: ValueKind,
    form: ShopForm,
    seen: Preview | None = None,
    status: int = 200,
) -> HttpResponse:
    context = {
        "page": form_page(family, kind=kind),
        "form": form,
        "upload": form if isinstance(form, TableForm) else TableForm(),
        "preview": seen,
        "columns": column_words(kind, locale=locale_of(request)),
    }
    return render(request, "spec_book/import_values.html", context, status=status)


def _kind(request: StaffRequest) -> ValueKind:
    return kind_of((request.POST if request.method == "POST" else request.GET).get("kind_of_value", ""))
