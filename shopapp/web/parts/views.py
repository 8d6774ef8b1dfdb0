"""The shop's parts list: looked up by everybody, written at the desk, labelled on paper."""

from functools import partial
from urllib.parse import urlencode

from django.http import HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render, resolve_url
from django.views.decorators.http import require_http_methods, require_safe

from shopapp import access
from shopapp.actions.parts import add_part, edit_part
from shopapp.context import locale_of
from shopapp.documents.labels import part_label_pdf
from shopapp.documents.renderer import RenderFailed
from shopapp.models import Part
from shopapp.queries import parts
from shopapp.queries.tables import part_table
from shopapp.web.parts.forms import EditPartForm, PartForm, part_values
from shopapp.web.shared.downloads import table_file
from shopapp.web.shared.edits import sent_edit
from shopapp.web.shared.htmx import answer
from shopapp.web.shared.once import once
from shopapp.web.shared.paging import page_number
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row

_LONGEST_QUESTION = 100
# the names under which fields ask for suggestions
ASKED_AS = ("number", "product", "q")


@allowed(access.is_staff_member)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    page = parts.parts_page(
        question=request.GET.get("q", "")[:_LONGEST_QUESTION],
        number=page_number(request),
        is_all=request.GET.get("all") == "1",
        viewer=request.user,
    )
    return answer(request, "parts/index.html", "part-rows", {"page": page})


@allowed(access.may_use_desk)
@require_safe
def table(request: StaffRequest) -> HttpResponseBase:
    return table_file(request, part_table(request.user))


@allowed(access.is_staff_member)
@require_safe
def suggestions(request: StaffRequest) -> HttpResponse:
    asked = next((request.GET[name] for name in ASKED_AS if name in request.GET), "")
    page = parts.suggestions(asked[:_LONGEST_QUESTION])
    # the fluid's field holds a name, the part's a number
    return render(request, "parts/suggestions.html", {"page": page, "is_name": "product" in request.GET})


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: StaffRequest) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    form = PartForm(data, locale=locale_of(request), sees_costs=access.may_see_costs(request.user))
    by = actor_of(request)

    def effect() -> str:
        row = add_part(form.as_input(), by=by)
        return resolve_url("parts:edit", pk=row.pk)

    if data is not None and form.is_valid():
        location = attempt(form, lambda: once(request, effect, by=by))
        if location is not None:
            return HttpResponseRedirect(location)
    context = {"page": parts.part_page(None), "form": form}
    return render(request, "parts/new.html", context, status=422 if data is not None else 200)


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: StaffRequest, pk: int) -> HttpResponse:
    row: Part = find_row(Part.objects, pk=pk)
    values_of = partial(part_values, sees_costs=access.may_see_costs(request.user))
    form = EditPartForm(
        request.POST if request.method == "POST" else None,
        initial={**values_of(row), "version": row.version},
        locale=locale_of(request),
        sees_costs=access.may_see_costs(request.user),
    )
    by = actor_of(request)

    def save() -> str:
        edit_part(row.pk, form.as_input(), version=form.cleaned_data["version"], by=by)
        return resolve_url("parts:index")

    sent = sent_edit(request, form=form, deed=save, by=by, values_of=values_of)
    if sent.location:
        return HttpResponseRedirect(sent.location)
    context = {"page": parts.part_page(row, conflict=sent.conflict), "form": form}
    return render(request, "parts/edit.html", context, status=sent.status)


@allowed(access.may_use_desk)
@require_safe
def label(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(Part.objects.defer("unit_cost_e4", "unit_price_e4"), pk=pk)
    shown = parts.label_of(row)
    # the list opens for everybody in the shop, the page of the part only at the desk
    found = urlencode({"q": row.number})
    address = request.build_absolute_uri(f"{resolve_url('parts:index')}?{found}")
    try:
        pdf = part_label_pdf(shown, address=address)
    except RenderFailed as failed:
        return render(request, "refused.html", {"sentence": str(failed)}, status=503)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="label-{row.pk}.pdf"'
    return response
