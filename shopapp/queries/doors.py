"""Pages about people and their sign-ins: who works here, and in which browsers they are signed in."""

import re
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _

from shopapp.models import BrowserSession, Person, Pin, RecoveryCode, SecondStep


@dataclass(frozen=True, kw_only=True)
class SessionRow:
    """A browser in which a person is signed in."""

    code: str
    browser: str
    address: str
    started_at: datetime | None
    seen_at: datetime
    is_this: bool


@dataclass(frozen=True, kw_only=True)
class SessionsPage:
    """One's own sign-ins, the newest first."""

    rows: tuple[SessionRow, ...]
    others: int


@dataclass(frozen=True, kw_only=True)
class PersonRow:
    """Somebody who works or worked here."""

    pk: int
    name: str
    username: str
    roles: str
    is_active: bool
    has_second_step: bool
    is_new: bool
    sessions: int


@dataclass(frozen=True, kw_only=True)
class PeoplePage:
    """Everybody, those who work here first."""

    rows: tuple[PersonRow, ...]


@dataclass(frozen=True, kw_only=True)
class PersonPage:
    """One person as the owner sees them; ``first_password`` is there only in the answer that made it."""

    person: PersonRow
    sessions: tuple[SessionRow, ...]
    is_oneself: bool
    has_pin: bool
    first_until: datetime | None
    first_password: str = ""


@dataclass(frozen=True, kw_only=True)
class SecondStepPage:
    """One's own second step; picture and seed only while it is set up, codes only right after."""

    is_on: bool
    is_owed: bool
    may_remove: bool
    made_at: datetime | None = None
    codes_left: int = 0
    picture: str = ""
    seed: str = ""
    codes: tuple[str, ...] = ()


def sessions_of(person_pk: int, *, at: datetime, this: str) -> tuple[SessionRow, ...]:
    """Where a person is signed in. One query."""
    rows = BrowserSession.objects.filter(person=person_pk, expire_date__gt=at).order_by("-seen_at", "code")
    return tuple(
        SessionRow(
            code=row.code,
            browser=browser_words(row.browser),
            address=row.address,
            started_at=row.started_at,
            seen_at=row.seen_at,
            is_this=row.code == this,
        )
        for row in rows.defer("session_data")
    )


def sessions_page(person_pk: int, *, at: datetime, this: str) -> SessionsPage:
    """One query."""
    rows = sessions_of(person_pk, at=at, this=this)
    return SessionsPage(rows=rows, others=sum(not row.is_this for row in rows))


def people_page(*, at: datetime) -> PeoplePage:
    """One query."""
    rows = _people(at).order_by("-is_active", "name", "pk")
    return PeoplePage(rows=tuple(_row(person) for person in rows))


def person_page(
    person_pk: int, *, at: datetime, this: str, viewer: Person, first_password: str = ""
) -> PersonPage:
    """Three queries. Raises DoesNotExist."""
    person = _people(at).get(pk=person_pk)
    return PersonPage(
        person=_row(person),
        sessions=sessions_of(person_pk, at=at, this=this),
        is_oneself=viewer.pk == person_pk,
        has_pin=Pin.objects.filter(person=person_pk).exists(),
        first_until=person.first_until,
        first_password=first_password,
    )


def second_step_facts(person_pk: int) -> tuple[datetime, int] | None:
    """Since when a person has a second step and how many codes are left. Two queries at most."""
    row = SecondStep.objects.filter(person=person_pk).first()
    if row is None:
        return None
    return row.made_at, RecoveryCode.objects.filter(second_step=row, used_at=None).count()


# the first that fits: browsers name each other
_BROWSERS = (
    ("Edg", "Edge"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("Chrom", "Chrome"),
    ("Safari", "Safari"),
)
_MACHINES = (
    ("iPad", "iPad"),
    ("iPhone", "iPhone"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Mac OS", "Mac"),
    ("Linux", "Linux"),
)


def browser_words(agent: str) -> str:
    """What a browser calls itself, in two words."""
    browser = next((word for mark, word in _BROWSERS if mark in agent), "")
    machine = next((word for mark, word in _MACHINES if mark in agent), "")
    if browser and machine:
        return _("%(browser)s on %(machine)s") % {"browser": browser, "machine": machine}
    return browser or machine or re.sub(r"\W.*", "", agent)[:30] or _("a browser")


def _people(at: datetime) -> QuerySet[Person]:
    return Person.objects.annotate(
        open_sessions=Count("browser_sessions", filter=Q(browser_sessions__expire_date__gt=at)),
        has_second_step=Exists(SecondStep.objects.filter(person=OuterRef("pk"))),
    )


def _row(person: Person) -> PersonRow:
    held = [
        (person.is_owner, _("owner")),
        (person.is_front_desk, _("front desk")),
        (person.is_technician, _("technician")),
    ]
    return PersonRow(
        pk=person.pk,
        name=person.name,
        username=person.username,
        roles=", ".join(word for is_held, word in held if is_held),
        is_active=person.is_active,
        has_second_step=person.has_second_step,  # type: ignore[attr-defined]
        is_new=person.first_until is not None,
        sessions=person.open_sessions,  # type: ignore[attr-defined]
    )
