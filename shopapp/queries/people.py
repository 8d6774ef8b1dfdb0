"""People of the shop as a form needs them: who may be chosen, and where a sign-in leads."""

from dataclasses import dataclass

from shopapp.models import Person


@dataclass(frozen=True, kw_only=True)
class Colleague:
    """Somebody who can be chosen in a list."""

    pk: int
    name: str


@dataclass(frozen=True, kw_only=True)
class SignInPage:
    """The sign-in page: the address to go to afterwards (of this host only)."""

    next: str


def technicians() -> tuple[Colleague, ...]:
    """Technicians who still work here, by name. One query; no wages."""
    rows = Person.objects.filter(is_technician=True, is_active=True).order_by("name", "pk")
    return tuple(Colleague(pk=pk, name=name) for pk, name in rows.values_list("pk", "name"))
