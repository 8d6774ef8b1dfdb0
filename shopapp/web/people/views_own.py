"""What everybody sees to for themselves: password, sign-ins, second step."""

from collections.abc import Callable

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions import second_steps
from shopapp.actions.passwords import set_password
from shopapp.actions.refusals import Refused
from shopapp.actions.sessions import end_session as end_one
from shopapp.actions.sessions import end_sessions as end_all
from shopapp.context import display
from shopapp.documents.qr_codes import qr_svg
from shopapp.models import BrowserSession
from shopapp.queries.doors import SecondStepPage, second_step_facts, sessions_page
from shopapp.web.people.forms import CodeForm, FirstPasswordForm, PasswordForm, ProofForm, SetUpForm
from shopapp.web.people.proofs import answered, code_fits, password_fits
from shopapp.web.shared.doors import must_have_second_step
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.session_store import code_of
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row


@sensitive_post_parameters("password", "new_password", "again")
@require_http_methods(["GET", "HEAD", "POST"])
@allowed(access.is_staff_member)
def password(request: StaffRequest) -> HttpResponse:
    form = PasswordForm(request.POST if request.method == "POST" else None)
    if form.is_valid() and password_fits(request, form, person=request.user) and _is_set(request, form):
        messages.success(request, _("Your password is changed. You are signed out everywhere else."))
        return redirect("people:sessions")
    return answered(request, "people/password.html", {"page": None, "form": form}, form=form)


@sensitive_post_parameters("new_password", "again")
@require_http_methods(["GET", "HEAD", "POST"])
@allowed(access.is_staff_member)
def first_password(request: StaffRequest) -> HttpResponse:
    if request.user.first_until is None:
        return redirect("people:password")
    form = FirstPasswordForm(request.POST if request.method == "POST" else None)
    if form.is_valid() and _is_set(request, form):
        messages.success(request, _("That is your own password now. Nobody else knows it."))
        return redirect(settings.LOGIN_REDIRECT_URL)
    return answered(request, "people/first_password.html", {"page": None, "form": form}, form=form)


def _is_set(request: StaffRequest, form: FirstPasswordForm) -> bool:
    typed, by = form.cleaned_data["new_password"], actor_of(request)
    here = code_of(request.session.session_key)
    person = attempt(form, lambda: set_password(request.user.pk, typed, by=by, keep=here))
    if person is None:
        return False
    # this browser stays signed in, under a new key
    update_session_auth_hash(request, person)
    return True


@require_safe
@allowed(access.is_staff_member)
def sessions(request: StaffRequest) -> HttpResponse:
    here = code_of(request.session.session_key)
    page = sessions_page(request.user.pk, at=timezone.now(), this=here)
    return render(request, "people/sessions.html", {"page": page})


@require_POST
@allowed(access.is_staff_member)
def end_session(request: StaffRequest, code: str) -> HttpResponse:
    whose = {} if access.may_keep_people(request.user) else {"person": request.user}
    row = find_row(BrowserSession.objects.filter(person__isnull=False), code=code, **whose)
    by, is_own = actor_of(request), row.person_id == request.user.pk

    def effect() -> str:
        end_one(row.code, by=by)
        return reverse("people:sessions") if is_own else reverse("people:detail", args=[row.person_id])

    return HttpResponseRedirect(once(request, effect, by=by))


@require_POST
@allowed(access.is_staff_member)
def end_others(request: StaffRequest) -> HttpResponse:
    by, here = actor_of(request), code_of(request.session.session_key)

    def effect() -> str:
        end_all(request.user.pk, keep=here, by=by)
        return reverse("people:sessions")

    return HttpResponseRedirect(once(request, effect, by=by))


@sensitive_post_parameters("password", "code")
@require_http_methods(["GET", "HEAD", "POST"])
@allowed(access.is_staff_member)
def second_step(request: StaffRequest) -> HttpResponse:
    facts = second_step_facts(request.user.pk)
    if facts is not None:
        page = _page(request, made_at=facts[0], codes_left=facts[1])
        return render(request, "people/second_step.html", {"page": page, "form": ProofForm()})
    salt = second_steps.new_salt(str(request.session.session_key))
    form = SetUpForm(request.POST if request.method == "POST" else None)
    if form.is_valid() and password_fits(request, form, person=request.user):
        by, code = actor_of(request), "".join(form.cleaned_data["code"].split())
        codes = second_steps.set_up(request.user.pk, salt=salt, code=code, by=by)
        if codes is not None:
            return _codes(request, codes)
        form.add_error("code", _("These digits do not fit. Wait for the next ones, then type them."))
    context = {"page": _page(request, salt=salt), "form": form}
    return answered(request, "people/second_step.html", context, form=form)


@sensitive_post_parameters("password", "code")
@require_POST
@allowed(access.is_staff_member)
def renew_codes(request: StaffRequest) -> HttpResponse:
    # not by way of a request key: its stored outcome would hold the codes
    return _proven(
        request, lambda: _codes(request, second_steps.renew_codes(request.user.pk, by=actor_of(request)))
    )


@sensitive_post_parameters("password", "code")
@require_POST
@allowed(access.is_staff_member)
def remove_second_step(request: StaffRequest) -> HttpResponse:
    if must_have_second_step(request.user):
        raise Refused(_("An owner cannot do without the second step here."))

    def deed() -> HttpResponse:
        second_steps.remove(request.user.pk, by=actor_of(request))
        # with another key there is another seed for the next telephone
        request.session.cycle_key()
        messages.success(request, _("The second step is removed. Your password alone lets you in."))
        return redirect("people:second_step")

    return _proven(request, deed)


def _proven(request: StaffRequest, deed: Callable[[], HttpResponse]) -> HttpResponse:
    facts = second_step_facts(request.user.pk)
    if facts is None:
        return redirect("people:second_step")
    form = ProofForm(request.POST)
    person = request.user
    if (
        form.is_valid()
        and password_fits(request, form, person=person)
        and code_fits(request, form, person=person)
    ):
        return deed()
    page = _page(request, made_at=facts[0], codes_left=facts[1])
    return answered(request, "people/second_step.html", {"page": page, "form": form}, form=form)


def _codes(request: StaffRequest, codes: tuple[str, ...]) -> HttpResponse:
    """The codes for paper, this once."""
    page = _page(request, made_at=timezone.now(), codes_left=len(codes), codes=codes)
    return render(request, "people/second_step.html", {"page": page, "form": CodeForm()})


def _page(request: StaffRequest, *, salt: str = "", **facts: object) -> SecondStepPage:
    owes = must_have_second_step(request.user)
    if salt:
        address = second_steps.app_address(
            request.user, salt=salt, shop=display(request)["display"].shop_name
        )
        facts |= {"picture": qr_svg(address), "seed": second_steps.seed_in_groups(salt)}
    is_on = "made_at" in facts
    return SecondStepPage(is_on=is_on, is_owed=owes and not is_on, may_remove=not owes, **facts)  # type: ignore[arg-type]
