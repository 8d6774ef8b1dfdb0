"""Enrolled tablets: the cookie by which one is known, who works at it by PIN, and which pages that opens."""

import logging
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.messages import get_messages
from django.core.exceptions import PermissionDenied
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import rotate_token
from django.utils import timezone

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.devices import note_seen, note_touch
from shopapp.actions.pins import Tried, enter_password, enter_pin
from shopapp.models import Device, Person
from shopapp.queries.devices import Stay, pin_page, stay_at, tablet_of, worker

logger = logging.getLogger("shopapp.access")

STAY = "stay"
# the field in which a form that met the lock brings the PIN with it
PIN_FIELD = "bench_secret"
LONGEST_SECRET = 200
# browsers keep no cookie longer; it is given anew with each look at the picker
LONGEST_COOKIE = 400 * 24 * 3600
# where a person may go by PIN: the bench, and nothing that is not named here
BENCH_PAGES = frozenset(
    {
        "start",
        "bench:index",
        "bench:job",
        "bench:key",
        "bench:dock",
        "bench:dock_photo",
        "media:photo",
        # names that the fields of the bench suggest, without prices
        "parts:suggestions",
        # what makers' manuals say, to be read
        "spec_book:index",
        "spec_book:detail",
        # what stands in the drums, and what goes in besides
        "used_oil:index",
        "used_oil:detail",
        "used_oil:put_in",
        "used_oil:strike",
        "work_orders:index",
        "work_orders:signs",
        "work_orders:detail",
        "work_orders:findings",
        "work_orders:bench",
        "work_orders:start_diagnosis",
        "work_orders:start_work",
        "work_orders:finish_work",
        "work_orders:lay_up",
        "work_orders:put_in_service",
        "work_orders:add_photo",
        "work_orders:use_part",
        "work_orders:use_planned",
        "work_orders:log_time",
        "work_orders:log_fluid",
        "work_orders:record_test",
        "work_orders:readings",
        "work_orders:log_reading",
        "work_orders:strike_reading",
        "work_orders:steps",
        "work_orders:add_step",
        "work_orders:add_step_list",
        "work_orders:add_joint",
        "work_orders:tick",
        "work_orders:strike_tick",
        "work_orders:charges",
        "work_orders:log_fee",
        "work_orders:log_sublet",
        "work_orders:row",
        "work_orders:strike",
        "work_orders:link",
        "work_orders:take_back",
        "work_orders:new_job",
        "work_orders:new_hold",
        "work_orders:hold",
        "work_orders:release_hold",
        "work_orders:restore_hold",
        "work_orders:ending",
        "work_orders:way_back",
    }
)

Answer = Callable[[HttpRequest], HttpResponse]


def cookie_name() -> str:
    """With the prefix that keeps other hosts from setting it, wherever there is HTTPS."""
    return "__Host-tablet" if settings.HTTPS else "tablet"


def keep_tablet(response: HttpResponse, token: str) -> None:
    """Put the tablet's token into its own cookie: no script reads it, no other site sends it."""
    response.set_cookie(
        cookie_name(),
        token,
        max_age=LONGEST_COOKIE,
        path="/",
        secure=settings.HTTPS,
        httponly=True,
        samesite="Strict",
    )


def tablet_here(request: HttpRequest) -> Device | None:
    """The enrolled tablet that asks, if it is one."""
    found: Device | None = getattr(request, "tablet", None)
    return found


def stay_here(request: HttpRequest) -> Stay | None:
    """Who works at this tablet by PIN, locked or not."""
    found: Stay | None = getattr(request, "stay", None)
    return found


def tablet_actor(tablet: Device) -> Actor:
    """The tablet itself, now."""
    return Actor(scope=Scope.DEVICE, device=tablet, at=timezone.now())


def try_secret(tablet: Device, person: Person, secret: str) -> Tried:
    """What came of a PIN, or of the password once the PIN is shut here; who tried stands in the log."""
    wants_password = pin_page(tablet, person).wants_password
    deed = enter_password if wants_password else enter_pin
    tried = deed(person, secret[:LONGEST_SECRET], by=tablet_actor(tablet))
    done = "let in" if tried.stay else "refused"
    logger.info("%s person:%s at device:%s", done, person.pk, tablet.pk)
    return tried


def open_stay(request: HttpRequest, stay: str, *, is_same_person: bool) -> None:
    """Put a stay into the session. The same person keeps the page that is open, and the key of its forms."""
    if is_same_person:
        request.session.cycle_key()
    else:
        forget_stay(request)
        rotate_token(request)
    request.session[STAY] = stay


def forget_stay(request: HttpRequest) -> None:
    """Nothing of whoever was here stays in the browser's session: no stay, no sign-in, no message."""
    list(get_messages(request))
    request.session.flush()


class TabletMiddleware:
    """Knows an enrolled tablet and who works at it; lets a PIN reach the bench and nothing else.

    A stay that is over, or locked, leaves nobody signed in: every page that asks for somebody then says no by
    itself. No session is written; a touch is written to the tablet's row at most once a minute.
    """

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        token = request.COOKIES.get(cookie_name(), "")
        if token and (tablet := tablet_of(token)) is not None:
            _recognise(request, tablet)
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], _args: Any, _kwargs: Any
    ) -> HttpResponse | None:
        """Refuse every page that is not of the bench to somebody who is here by PIN."""
        if tablet_here(request) is not None and PIN_FIELD in request.POST:
            _open_with_form(request)
        stay = stay_here(request)
        if stay is None or stay.is_locked or not getattr(view, "login_required", True):
            return None
        if request.resolver_match is None or request.resolver_match.view_name not in BENCH_PAGES:
            raise PermissionDenied
        return None


def _open_with_form(request: HttpRequest) -> None:
    """A form that came while the tablet was locked comes again with the PIN beside its fields."""
    here = stay_here(request)
    person = worker(here.person.pk) if here is not None and here.is_locked else None
    if here is None or person is None:
        return
    tried = try_secret(here.device, person, request.POST[PIN_FIELD])
    if tried.stay:
        open_stay(request, tried.stay, is_same_person=True)
        _let_in(request, replace(here, is_locked=False))
    else:
        request.why_locked = tried.sentence  # type: ignore[attr-defined]


def _let_in(request: HttpRequest, stay: Stay) -> None:
    request.stay = stay  # type: ignore[attr-defined]
    request.user = request._cached_user = stay.person  # type: ignore[attr-defined]


def _recognise(request: HttpRequest, tablet: Device) -> None:
    request.tablet = tablet  # type: ignore[attr-defined]
    by = tablet_actor(tablet)
    stay = None
    # whoever signed in with a password is at the desk, on whatever screen
    if SESSION_KEY not in request.session:
        stay = stay_at(tablet, stay=request.session.get(STAY, ""), at=by.at)
    request.stay = stay  # type: ignore[attr-defined]
    is_open = stay is not None and not stay.is_locked
    if stay is not None and is_open:
        _let_in(request, stay)
    try:
        (note_touch if is_open else note_seen)(tablet, by=by)
    except OperationalError:
        # a full disk must not shut the bench: the tablet locks a little too early
        logger.warning("the touch of device:%s was not written", tablet.pk)
