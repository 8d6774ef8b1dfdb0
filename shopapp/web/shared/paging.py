"""Which page of a list an address asks for."""

from django.http import HttpRequest

_LONGEST = 9


def page_number(request: HttpRequest) -> int:
    """The number behind ``?page=``; nonsense asks for the first page."""
    asked = request.GET.get("page", "")
    return int(asked) if asked.isascii() and asked.isdigit() and len(asked) <= _LONGEST else 1
