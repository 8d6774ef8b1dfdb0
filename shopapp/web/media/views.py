"""Serves a photo to those who may see its work order."""

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_GET

from shopapp import access
from shopapp.files.photos import read_photo
from shopapp.models import Photo
from shopapp.web.shared.signed_in import StaffRequest, allowed, find_row


@allowed(access.is_staff_member)
@require_GET
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
    # a photo never changes under its number; the browser of this person alone may keep it for a day
    response.headers["Cache-Control"] = "private, max-age=86400, immutable"
    return response
