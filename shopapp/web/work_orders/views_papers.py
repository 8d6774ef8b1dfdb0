"""The work order on paper."""

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from shopapp import access
from shopapp.documents.renderer import RenderFailed
from shopapp.documents.work_orders import work_order_pdf
from shopapp.web.shared.signed_in import StaffRequest, allowed, find_work_order


@allowed(access.is_staff_member)
@require_safe
def paper(request: StaffRequest, pk: int) -> HttpResponse:
    work_order = find_work_order(request, pk)
    address = request.build_absolute_uri(reverse("work_orders:detail", args=[pk]))
    try:
        pdf = work_order_pdf(work_order, address=address)
    except RenderFailed as error:
        return render(request, "refused.html", {"sentence": error.sentence}, status=503)
    name = content_disposition_header(as_attachment=False, filename=f"{work_order.number}.pdf")
    headers = {"Content-Disposition": name or "inline"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)
