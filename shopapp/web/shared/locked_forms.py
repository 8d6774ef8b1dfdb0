"""A form that was sent while the tablet was locked: nothing was done, and nothing typed is lost."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shopapp.queries.devices import pin_page
from shopapp.web.shared.tablets import PIN_FIELD, stay_here

_DRAWN_ANEW = ("csrfmiddlewaretoken", "once_key", PIN_FIELD)


@dataclass(frozen=True, kw_only=True)
class LockedFormPage:
    """Who works at the tablet, where the form goes, and what stood in it, to be sent again with the PIN."""

    name: str
    wants_password: bool
    sentence: str
    address: str
    fields: tuple[tuple[str, str], ...]
    had_files: bool


def locked_form(request: HttpRequest) -> HttpResponse:
    """Ask for the PIN, with everything that was typed behind it. One query."""
    stay = stay_here(request)
    if stay is None:
        raise ValueError("only a stay that is locked keeps a form")
    asked = pin_page(stay.device, stay.person)
    page = LockedFormPage(
        name=asked.name,
        wants_password=asked.wants_password,
        sentence=getattr(request, "why_locked", ""),
        address=request.get_full_path(),
        fields=tuple(
            (name, value)
            for name in request.POST
            if name not in _DRAWN_ANEW
            for value in request.POST.getlist(name)
        ),
        had_files=bool(request.FILES),
    )
    return render(request, "devices/locked_form.html", {"page": page}, status=403)
