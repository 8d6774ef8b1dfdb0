"""Serves a photo to those who may see its work order."""

from django.http import Http404, HttpResponse
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.http import require_safe

from shopapp import access
from shopapp.files.photos import read_photo
from shopapp.models import Photo
from shopapp.web.shared.signed_in import StaffRequest, allowed, find_row


@allowed(access.is_staff_member)
@require_safe
def photo(request: StaffRequest, pk: int) -> HttpResponse:
    row = find_row(Photo.objects.select_related("work_order"), pk=pk)
    if not access.may_see_work_order(request.user, row.work_order):
        raise Http404
    try:
        content = read_photo(row.sha256)
    except FileNotFoundError:
        raise Http404 from None
    response = HttpResponse(content, content_type="image/webp")
    response.headers["X-Content-Type-Options"] = "nosniff"
    # a browser may keep it but asks each time: whoever comes next at the same desk is asked for their rights
    response.headers["Cache-Control"] = "private, no-cache"
    etag = quote_etag(row.sha256)
    response.headers["ETag"] = etag
    return get_conditional_response(request, etag=etag, response=response) or response
