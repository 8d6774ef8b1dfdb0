"""One box for everything: answers while typing under the box, or as a page of their own."""

from django.http import HttpResponse
from django.views.decorators.http import require_safe

from shopapp import access
from shopapp.queries.find_pages import find_page
from shopapp.web.shared.htmx import answer
from shopapp.web.shared.signed_in import StaffRequest, allowed


@allowed(access.is_staff_member)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    page = find_page(request.GET.get("q", ""), viewer=request.user)
    return answer(request, "find/index.html", "find-answers", {"page": page})
