"""Signing in, with a second step where there is one, and out."""

import logging

from django.conf import settings
from django.contrib.auth import authenticate, login, logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, resolve_url
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from shopapp.actions import sign_ins
from shopapp.actions.actor import Actor, Scope
from shopapp.models import Person
from shopapp.queries.people import SignInPage
from shopapp.web.people.forms import CodeForm, SignInForm
from shopapp.web.people.half_in import half_in, let_half_in
from shopapp.web.people.knocks import knock_of, nobody_yet, remember
from shopapp.web.people.proofs import answered, code_fits, must_wait
from shopapp.web.shared.doors import has_second_step
from shopapp.web.shared.session_store import begin
from shopapp.web.shared.tablets import tablet_here

logger = logging.getLogger("shopapp.access")


@sensitive_post_parameters("password")
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    form = SignInForm(request.POST if request.method == "POST" else None)
    person = _who_fits(request, form) if form.is_valid() else None
    if person is not None and has_second_step(person):
        let_half_in(request, person, to=_next_page(request))
        return redirect("people:prove")
    if person is not None:
        return _let_in(request, person, to=_next_page(request))
    if request.method == "POST":
        # without the name: people type a password into the wrong field
        logger.info(
            "refused to sign somebody in from %s", request.META.get("REMOTE_ADDR", "an unknown address")
        )
    context = {"page": SignInPage(next=_next_page(request)), "form": form}
    return answered(request, "people/sign_in.html", context, form=form)


def _who_fits(request: HttpRequest, form: SignInForm) -> Person | None:
    """The person whose name and password were given; one sentence for every way in which they do not fit."""
    name, password = form.cleaned_data["username"], form.cleaned_data["password"]
    knock = knock_of(request, name)
    limits = sign_ins.password_limits(knock)
    wait = sign_ins.knocked(limits, knock=knock, by=nobody_yet())
    if wait is not None:
        must_wait(form, wait)
        return None
    person = authenticate(request, username=name, password=password)
    if not isinstance(person, Person):
        sign_ins.note_miss(limits, knock=knock, step="password", by=nobody_yet())
        form.add_error(None, _("Name and password do not fit together. Try again."))
        return None
    sign_ins.forgive(limits, by=nobody_yet())
    if person.first_until is not None and person.first_until <= timezone.now():
        form.add_error(None, _("This first password has run out. Ask the owner for a new one."))
        return None
    return person


@sensitive_post_parameters("code")
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
def prove(request: HttpRequest) -> HttpResponse:
    found = half_in(request)
    if found is None:
        return redirect("people:sign_in")
    person, to = found
    form = CodeForm(request.POST if request.method == "POST" else None)
    if form.is_valid() and code_fits(request, form, person=person):
        return _let_in(request, person, to=to)
    return answered(request, "people/prove.html", {"page": None, "form": form}, form=form)


def _let_in(request: HttpRequest, person: Person, *, to: str) -> HttpResponse:
    knock = knock_of(request, person.username)
    # a session of its own for each sign-in; what was open in this browser ends
    request.session.flush()
    login(request, person, backend=settings.AUTHENTICATION_BACKENDS[0])
    begin(request)
    by = Actor(scope=Scope.DESK, person=person, at=timezone.now())
    sign_ins.note_sign_in(person, knock=knock, by=by)
    response = HttpResponseRedirect(to)
    remember(request, response, person.username)
    return response


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("people:sign_in" if tablet_here(request) is None else "devices:who")


def _next_page(request: HttpRequest) -> str:
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    is_ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if is_ours else resolve_url(settings.LOGIN_REDIRECT_URL)
