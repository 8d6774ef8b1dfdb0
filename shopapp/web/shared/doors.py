"""What somebody who just signed in owes first: a password of their own, or the owner's second step."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse

from shopapp.models import Person, SecondStep

SIGN_OUT = "people:sign_out"


def has_second_step(person: Person) -> bool:
    """Whether a second step is set up; known already for who signed in, otherwise one query."""
    known: bool | None = getattr(person, "has_second_step", None)
    return SecondStep.objects.filter(person=person).exists() if known is None else known


def must_have_second_step(person: Person) -> bool:
    """An owner, where others than the shop's own machine can reach the app."""
    return bool(settings.OWNER_SECOND_STEP) and person.is_owner


def owed_page(person: Person) -> str:
    """The page without which nothing else opens, by name; empty where nothing is owed."""
    if person.first_until is not None:
        return "people:first_password"
    if must_have_second_step(person) and not has_second_step(person):
        return "people:second_step"
    return ""


def led_first(request: HttpRequest, person: Person) -> HttpResponse | None:
    """Lead to the page that is owed; everything else stays shut, and only leaving is open."""
    owed = owed_page(person)
    here = request.resolver_match.view_name if request.resolver_match is not None else ""
    if not owed or here in (owed, SIGN_OUT):
        return None
    where = reverse(owed)
    if request.headers.get("HX-Request"):
        # a redirect would be followed inside the fragment
        return HttpResponse(status=204, headers={"HX-Redirect": where})
    return HttpResponseRedirect(where)
