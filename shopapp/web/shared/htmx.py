"""Answers with a whole page, or with one part of it when htmx asks."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers


def wants_part(request: HttpRequest) -> bool:
    """htmx asks for a fragment, and it is not a page brought back from the history."""
    return bool(request.headers.get("HX-Request")) and not request.headers.get("HX-History-Restore-Request")


def answer(
    request: HttpRequest, template: str, part: str, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    """The part for htmx, the page for everyone else; the server picks the part, never a parameter."""
    name = f"{template}#{part}" if wants_part(request) else template
    response = render(request, name, context, status=status)
    patch_vary_headers(response, ["HX-Request"])
    return response
