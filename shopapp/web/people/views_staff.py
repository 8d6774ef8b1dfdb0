"""The owner sees who works here, takes people in, helps with passwords, and shows people out."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions import people, pins, sessions
from shopapp.actions.passwords import first_password, give_first_password
from shopapp.actions.refusals import Refused
from shopapp.models import Person
from shopapp.queries.doors import people_page, person_page
from shopapp.web.people.forms import NewPersonForm, RolesForm
from shopapp.web.people.proofs import answered
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.session_store import code_of
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row


@require_safe
@allowed(access.may_keep_people)
def index(request: StaffRequest) -> HttpResponse:
    return render(request, "people/index.html", {"page": people_page(at=timezone.now())})


@require_http_methods(["GET", "HEAD", "POST"])
@allowed(access.may_keep_people)
def new(request: StaffRequest) -> HttpResponse:
    form = NewPersonForm(request.POST if request.method == "POST" else None)
    person, password = None, first_password()
    if form.is_valid():
        # not by way of a request key: the answer holds the password, which is kept nowhere
        person = attempt(form, lambda: _joined(form, password=password, request=request))
    if person is not None:
        return _shown(request, person.pk, password=password)
    return answered(request, "people/new.html", {"page": None, "form": form}, form=form)


def _joined(form: NewPersonForm, *, password: str, request: StaffRequest) -> Person | None:
    try:
        return people.add_person(form.as_input(password), by=actor_of(request))
    except Refused as taken:
        form.add_error("username", taken.sentence)
        return None


@require_safe
@allowed(access.may_keep_people)
def detail(request: StaffRequest, pk: int) -> HttpResponse:
    return _shown(request, find_row(Person.objects, pk=pk).pk)


@require_POST
@allowed(access.may_keep_people)
def give_password(request: StaffRequest, pk: int) -> HttpResponse:
    # not by way of a request key: the answer holds the password, which is kept nowhere
    password = give_first_password(find_row(Person.objects, pk=pk).pk, by=actor_of(request))
    return _shown(request, pk, password=password)


@require_POST
@allowed(access.may_keep_people)
def end_sessions(request: StaffRequest, pk: int) -> HttpResponse:
    row, by, here = find_row(Person.objects, pk=pk), actor_of(request), code_of(request.session.session_key)

    def effect() -> str:
        sessions.end_sessions(row.pk, by=by, keep=here)
        return reverse("people:detail", args=[row.pk])

    return HttpResponseRedirect(once(request, effect, by=by))


@require_POST
@allowed(access.may_keep_people)
def switch_off(request: StaffRequest, pk: int) -> HttpResponse:
    return _switched(
        request, pk, deed=people.switch_off, said=_("%s is switched off and signed out everywhere.")
    )


@require_POST
@allowed(access.may_keep_people)
def switch_on(request: StaffRequest, pk: int) -> HttpResponse:
    return _switched(request, pk, deed=people.switch_on, said=_("%s may sign in again."))


@require_POST
@allowed(access.may_keep_people)
def remove_pin(request: StaffRequest, pk: int) -> HttpResponse:
    said = _("The PIN of %s is removed. They set a new one under “My PIN”.")
    return _switched(request, pk, deed=pins.remove_pin, said=said)


@require_http_methods(["GET", "HEAD", "POST"])
@allowed(access.may_keep_people)
def change_roles(request: StaffRequest, pk: int) -> HttpResponse:
    person, by = find_row(Person.objects, pk=pk), actor_of(request)
    held = [role for role in people.ROLES if getattr(person, f"is_{role}")]
    form = RolesForm(request.POST if request.method == "POST" else None, initial={"roles": held})

    def effect() -> str:
        people.change_roles(person.pk, form.cleaned_data["roles"], by=by)
        return reverse("people:detail", args=[person.pk])

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        messages.success(request, _("It counts from the next sign-in of %s.") % person.name)
        return HttpResponseRedirect(location)
    return answered(request, "people/change_roles.html", {"page": person, "form": form}, form=form)


def _switched(request: StaffRequest, pk: int, *, deed: Callable[..., None], said: str) -> HttpResponse:
    row, by = find_row(Person.objects, pk=pk), actor_of(request)

    def effect() -> str:
        deed(row.pk, by=by)
        return reverse("people:detail", args=[row.pk])

    location = once(request, effect, by=by)
    messages.success(request, said % row.name)
    return HttpResponseRedirect(location)


def _shown(request: StaffRequest, pk: int, *, password: str = "") -> HttpResponse:
    page = person_page(
        pk,
        at=timezone.now(),
        this=code_of(request.session.session_key),
        viewer=request.user,
        first_password=password,
    )
    return render(request, "people/detail.html", {"page": page})
