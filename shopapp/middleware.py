"""What holds for every answer: who asks from where, private pages are not kept, refusals become sentences."""

import logging
from collections.abc import Callable
from ipaddress import ip_address
from typing import Any
from urllib.parse import quote, urlsplit

from django.conf import settings
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import resolve_url
from django.utils.http import url_has_allowed_host_and_scheme

from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Person
from shopapp.queries.erased import Erased
from shopapp.web.shared.breakdowns import only_for_forms
from shopapp.web.shared.doors import led_first
from shopapp.web.shared.locked_forms import locked_form
from shopapp.web.shared.logs import named
from shopapp.web.shared.refusals import bad_input_page, erased_page, refused_page, storage_page
from shopapp.web.shared.session_store import SessionStore
from shopapp.web.shared.tablets import stay_here, tablet_here

logger = logging.getLogger("shopapp.access")

# where an enrolled tablet asks who is working, and for the PIN of whoever is
PICKER, LOCK = "devices:who", "devices:unlock"

Answer = Callable[[HttpRequest], HttpResponse]
View = Callable[..., HttpResponseBase]


class PlaceMiddleware:
    """Tells from where somebody asks when proxies stand before the app: each appends who asked it.

    So only the last addresses of the header are true, as many as there are proxies of our own; what stands
    before them was sent along by somebody. Without the setting the header counts for nothing.
    """

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        place = _place_before(settings.PROXIES, request.headers.get("X-Forwarded-For", ""))
        if place is not None:
            request.META["REMOTE_ADDR"] = place
        return self.get_response(request)


def _place_before(proxies: int, told: str) -> str | None:
    """The address that the first of our own proxies wrote; none where not all of them wrote one."""
    addresses = [address.strip() for address in told.split(",")]
    if not 0 < proxies <= len(addresses):
        return None
    try:
        return str(ip_address(addresses[-proxies]))
    except ValueError:
        return None


class PrivatePagesMiddleware:
    """Nothing but static files is stored by browsers or proxies; a lost session redirects htmx as a whole.

    It stands before the session, so that answers which never reach a view carry the headers as well.
    """

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if request.headers.get("HX-Request") and _leads_to_sign_in(response):
            # a redirect would be followed inside the fragment: the whole page must go to the sign-in
            door = response.headers["Location"].partition("?")[0]
            response = HttpResponse(status=204, headers=_called_to(door, request))
        response.headers.setdefault("Cache-Control", "no-store")
        response.headers.setdefault("X-Robots-Tag", "noindex")
        if response.status_code in (403, 404) and request.resolver_match is not None:
            _log_refusal(request, response.status_code)
        return response


def _called_to(door: str, request: HttpRequest) -> dict[str, str]:
    """What htmx is told to do: the page behind a tablet's lock stays, with all that is half typed on it."""
    if door == resolve_url(LOCK):
        return {"HX-Trigger": "bench-locked"}
    return {"HX-Redirect": f"{door}?next={_page_of(request)}"}


def _leads_to_sign_in(response: HttpResponse) -> bool:
    doors = tuple(resolve_url(name) for name in (settings.LOGIN_URL, PICKER, LOCK))
    return response.status_code in (302, 303) and response.headers.get("Location", "").startswith(doors)


def _page_of(request: HttpRequest) -> str:
    """The page to come back to, quoted for an address; the front door where the browser sends nonsense."""
    return quote(_path_of(request.headers.get("HX-Current-URL", "")))


def _path_of(address: str) -> str:
    try:
        parts = urlsplit(address)
    except ValueError:
        return "/"
    if not parts.path.startswith("/") or parts.path.startswith("//"):
        return "/"
    return parts.path + (f"?{parts.query}" if parts.query else "")


class SignInFirstMiddleware(LoginRequiredMiddleware):
    """Who is not signed in signs in first, and comes back to a page: never to where only forms are sent.

    Who is signed in was seen just now, and is led to what is owed first.
    """

    def process_view(
        self, request: HttpRequest, view_func: View, view_args: tuple[Any, ...], view_kwargs: dict[str, Any]
    ) -> HttpResponseBase | None:
        """Stop who is not signed in, or owes something first; let everybody else through."""
        stopped = super().process_view(request, view_func, view_args, view_kwargs)
        # who is here by PIN never reaches what is owed; the tablet has a lock of its own
        if stopped is not None or not getattr(view_func, "login_required", True) or stay_here(request):
            return stopped
        if isinstance(request.session, SessionStore):
            request.session.touch()
        return led_first(request, request.user) if isinstance(request.user, Person) else None

    def handle_no_permission(self, request: HttpRequest, view_func: View) -> HttpResponse:  # type: ignore[override]
        """Lead to the sign-in; for a form, back to the page of ours it came from, else the front door.

        An enrolled tablet asks for a PIN instead.
        """
        if tablet_here(request) is not None:
            return _to_the_pin(request)
        if request.method in ("GET", "HEAD"):
            return super().handle_no_permission(request, view_func)
        return redirect_to_login(
            _wanted(request), self.get_login_url(view_func), self.get_redirect_field_name(view_func)
        )


def _to_the_pin(request: HttpRequest) -> HttpResponse:
    """What an enrolled tablet is told at which nobody works, or whose lock has fallen."""
    if stay_here(request) is None:
        return redirect_to_login(_wanted(request), PICKER)
    if request.method == "POST" and not request.headers.get("HX-Request"):
        return locked_form(request)
    return redirect_to_login(_wanted(request), LOCK)


def _wanted(request: HttpRequest) -> str:
    """The page to come back to: for a form the one it came from, if that is ours."""
    if request.method in ("GET", "HEAD"):
        return request.get_full_path()
    before = request.headers.get("Referer", "")
    is_ours = url_has_allowed_host_and_scheme(
        before, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return _path_of(before) if is_ours else "/"


def _log_refusal(request: HttpRequest, status: int) -> None:
    # the person is named only where somebody asked for it already: a log line makes no query
    person = getattr(request, "_cached_user", None)
    who = f"person:{person.pk}" if person is not None and person.pk else "nobody"
    where = request.META.get("REMOTE_ADDR")
    logger.info("refused %s with %s for %s from %s", named(request), status, who, where)


class RefusalsMiddleware:
    """Turns a refusal into an answer: 409 for a rule, 422 for input, 503 when the database cannot write.

    410 for what was erased.
    """

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code == 405 and not response.content:
            return only_for_forms(response)
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """Answer a refusal; leave every other exception alone."""
        if isinstance(exception, Refused):
            return refused_page(request, exception)
        if isinstance(exception, Erased):
            return erased_page(request, exception)
        if isinstance(exception, BadInput):
            return bad_input_page(request, exception)
        if isinstance(exception, OperationalError):
            # a full disk or a lost connection: the transaction is gone, so trying again is safe
            logger.error("the database could not do %s", named(request), exc_info=exception)
            return storage_page()
        return None
