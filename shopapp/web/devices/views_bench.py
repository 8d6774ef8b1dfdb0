"""On an enrolled tablet: who is working, their PIN, the lock over a page, and somebody else's turn."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp.actions.devices import end_stay, lock_stay
from shopapp.actions.pins import Tried
from shopapp.models import Device, Person
from shopapp.queries.devices import picker_page, pin_page, worker
from shopapp.web.devices.forms import PasswordForm, PinForm
from shopapp.web.shared.customer_door import forget_door
from shopapp.web.shared.htmx import answer, wants_part
from shopapp.web.shared.tablets import (
    cookie_name,
    forget_stay,
    keep_tablet,
    open_stay,
    stay_here,
    tablet_here,
    try_secret,
)


class TabletRequest(HttpRequest):
    """A request of an enrolled tablet."""

    tablet: Device


def on_tablet[**P](
    view: Callable[Concatenate[TabletRequest, P], HttpResponse],
) -> Callable[Concatenate[TabletRequest, P], HttpResponse]:
    """Only on an enrolled tablet; every other browser is led to the sign-in."""

    @wraps(view)
    def guarded(request: TabletRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if tablet_here(request) is None:
            return redirect(settings.LOGIN_URL)
        return view(request, *args, **kwargs)

    return login_not_required(guarded)


@on_tablet
@require_safe
@gzip_page
def who(request: TabletRequest) -> HttpResponse:
    response = render(request, "devices/who.html", {"page": picker_page(request.tablet)})
    # given anew, so that a tablet in use is never forgotten by its browser
    keep_tablet(response, request.COOKIES[cookie_name()])
    return response


@sensitive_post_parameters("secret")
@on_tablet
@require_http_methods(["GET", "HEAD", "POST"])
@gzip_page
def pin(request: TabletRequest, pk: int) -> HttpResponse:
    person = worker(pk)
    if person is None:
        raise Http404
    tried = _tried(request, person)
    if tried.stay:
        open_stay(request, tried.stay, is_same_person=False)
        response = redirect("start")
        # a customer who had the tablet in hand has given it back
        forget_door(response)
        return response
    return _shown(request, person, tried=tried, template="devices/pin.html")


@sensitive_post_parameters("secret")
@on_tablet
@require_http_methods(["GET", "HEAD", "POST"])
def unlock(request: TabletRequest) -> HttpResponse:
    here = stay_here(request)
    person = worker(here.person.pk) if here is not None else None
    if here is None or person is None:
        return redirect("devices:who")
    tried = _tried(request, person)
    if tried.stay:
        open_stay(request, tried.stay, is_same_person=True)
        if wants_part(request):
            # the page behind the lock stays as it is, with all that is half typed
            return HttpResponse(status=204, headers={"HX-Trigger": "bench-open"})
        return HttpResponseRedirect(_next_page(request))
    return _shown(request, person, tried=tried, template="devices/unlock.html")


@on_tablet
@require_POST
def lock(request: TabletRequest) -> HttpResponse:
    here = stay_here(request)
    if here is None:
        return redirect("devices:who")
    lock_stay(here.device)
    return redirect("devices:unlock")


@on_tablet
@require_POST
def touch(request: TabletRequest) -> HttpResponse:
    """Somebody types or reads here; the touch itself was noted before this view."""
    here = stay_here(request)
    return JsonResponse({"is_open": here is not None and not here.is_locked})


@on_tablet
@require_POST
def leave(request: TabletRequest) -> HttpResponse:
    here = stay_here(request)
    if here is not None:
        end_stay(here.device)
        forget_stay(request)
    return redirect("devices:who")


def _tried(request: TabletRequest, person: Person) -> Tried:
    """What came of the PIN or password that was sent; nothing was tried where none was."""
    if request.method != "POST":
        return Tried()
    wants_password = pin_page(request.tablet, person).wants_password
    form = PasswordForm(request.POST) if wants_password else PinForm(request.POST)
    if not form.is_valid():
        return Tried(sentence=str(form.errors["secret"][0]))
    return try_secret(request.tablet, person, form.cleaned_data["secret"])


def _shown(request: TabletRequest, person: Person, *, tried: Tried, template: str) -> HttpResponse:
    page = pin_page(request.tablet, person, sentence=tried.sentence, next_page=_next_page(request))
    status = 422 if tried.sentence else 200
    return answer(request, template, "bench-lock-form", {"page": page}, status=status)


def _next_page(request: HttpRequest) -> str:
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    is_ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if is_ours else resolve_url(settings.LOGIN_REDIRECT_URL)
