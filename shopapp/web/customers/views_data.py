"""What is kept about a customer: handed out as one file, or erased for good. Both are the owner's to do."""

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render, resolve_url
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from shopapp import access
from shopapp.actions.erasing import erase_customer
from shopapp.context import display
from shopapp.documents.person_papers import person_papers
from shopapp.files.person_archive import person_archive
from shopapp.models import Customer
from shopapp.queries.erasure import data_page
from shopapp.queries.person_data import person_data
from shopapp.web.customers.forms import EraseForm
from shopapp.web.shared.downloads import download
from shopapp.web.shared.once import once
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row, today_of


@allowed(access.may_erase)
@require_safe
def data(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(Customer.objects, pk=pk)
    return render(request, "customers/data.html", {"page": data_page(row), "form": EraseForm()})


@allowed(access.may_erase)
@require_safe
def data_file(request: StaffRequest, pk: int) -> HttpResponseBase:
    row, shop = find_row(Customer.objects, pk=pk), display(request)["display"]
    pieces = person_archive(
        person_data(row.pk),
        papers=person_papers(row.pk),
        locale=shop.locale,
        time_zone=shop.time_zone,
    )
    # no name: the file lies in a folder of downloads
    name = f"{_('customer')}-{row.pk}-{today_of(request):%Y-%m-%d}.zip"
    return download(request, pieces, name=name, kind="application/zip")


@allowed(access.may_erase)
@require_POST
def erase(request: StaffRequest, pk: int) -> HttpResponse:
    row, form, by = find_row(Customer.objects, pk=pk), EraseForm(request.POST), actor_of(request)
    if not form.is_valid():
        context = {"page": data_page(row), "form": form}
        return render(request, "customers/data.html", context, status=422)

    def effect() -> str:
        erase_customer(row.pk, by=by)
        return resolve_url("customers:data", pk=row.pk)

    location = once(request, effect, by=by)
    messages.success(request, _("The data is erased. What had to stay is named below, with the reason."))
    return HttpResponseRedirect(location)
