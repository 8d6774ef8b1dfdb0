"""What goes in and out during a visit, and the papers that hang on it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions.custody import CustodyInput, record_custody
from shopapp.actions.refusals import Refused
from shopapp.documents.intakes import intake_pdf
from shopapp.documents.quotes import NotAsShown
from shopapp.documents.renderer import RenderFailed
from shopapp.documents.tags import tag_of, tag_pdf
from shopapp.models import CustodyMove, Thing
from shopapp.queries.custody import custody_page
from shopapp.queries.intakes import intake_of
from shopapp.web.arrivals.forms_custody import CustodyForm
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_work_order


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def custody(request: StaffRequest, pk: int) -> HttpResponse:
    page, by = custody_page(find_work_order(request, pk)), actor_of(request)
    form = CustodyForm(request.POST or None, page=page)

    def effect() -> str:
        for data in form.as_inputs():
            record_custody(pk, data, by=by)
        return reverse("arrivals:custody", args=[pk])

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        messages.success(request, _("It is written down."))
        return HttpResponseRedirect(location)
    context = {"page": page, "form": form}
    return render(request, "arrivals/custody.html", context, status=422 if request.method == "POST" else 200)


@allowed(access.may_use_desk)
@require_POST
def take_back(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    back = CustodyInput(thing=Thing.BOAT, move=CustodyMove.IN, who=work_order.customer.name)

    def effect() -> str:
        record_custody(pk, back, by=by)
        return reverse("arrivals:custody", args=[pk])

    location = once(request, effect, by=by)
    messages.success(request, _("The boat is here again. Did keys, trailer or gear come with it?"))
    return HttpResponseRedirect(location)


@allowed(access.may_use_desk)
@require_safe
def sheet(request: StaffRequest, pk: int) -> HttpResponse:
    work_order = find_work_order(request, pk)
    intake = intake_of(work_order)
    if intake is None:
        raise Refused(_("This work order has no terms yet. Write them first."))
    try:
        pdf = intake_pdf(intake, at=timezone.now())
    except NotAsShown as error:
        raise Refused(error.sentence) from error
    except RenderFailed as error:
        return _failed(request, error.sentence, status=503)
    return _pdf(pdf, filename=f"{work_order.number}-intake.pdf")


@allowed(access.is_staff_member)
@require_safe
def tag(request: StaffRequest, pk: int) -> HttpResponse:
    work_order = find_work_order(request, pk)
    address = request.build_absolute_uri(reverse("work_orders:detail", args=[pk]))
    try:
        pdf = tag_pdf(tag_of(work_order, address=address))
    except RenderFailed as error:
        return _failed(request, error.sentence, status=503)
    return _pdf(pdf, filename=f"{work_order.number}-tag.pdf")


def _failed(request: HttpRequest, sentence: str, *, status: int) -> HttpResponse:
    return render(request, "refused.html", {"sentence": sentence}, status=status)


def _pdf(pdf: bytes, *, filename: str) -> HttpResponse:
    name = content_disposition_header(as_attachment=False, filename=filename)
    headers = {"Content-Disposition": name or "inline"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)
