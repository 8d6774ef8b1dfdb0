"""Forms put aside: the person's own list, and what is needed to fill one in again."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import urlsplit

from django.db.models import Count, Exists, OuterRef

from shopapp.models import EntryState, ParkedForm, Person, SecondStep, TabletEntry
from shopapp.queries.entries import with_gaps

MOST_PARKED = 30


@dataclass(frozen=True, kw_only=True)
class Parked:
    """A form that waits; ``address`` brings it back as it was left."""

    pk: int
    title: str
    address: str
    parked_at: datetime


@dataclass(frozen=True, kw_only=True)
class ParkedPage:
    """Everything one person put aside, newest first."""

    parked: tuple[Parked, ...]


def parked_page(person_pk: int) -> ParkedPage:
    """One query."""
    return ParkedPage(parked=parked_of(person_pk))


def parked_of(person_pk: int) -> tuple[Parked, ...]:
    """What this person put aside, newest first, without what stands in the fields. One query."""
    rows = ParkedForm.objects.filter(person=person_pk).order_by("-parked_at", "-pk")
    return tuple(
        Parked(pk=pk, title=title, address=_address(pk, path), parked_at=parked_at)
        for pk, title, path, parked_at in rows.values_list("pk", "title", "path", "parked_at")[:MOST_PARKED]
    )


def _address(pk: int, path: str) -> str:
    return f"{path}{'&' if urlsplit(path).query else '?'}parked={pk}"


def resumed_form(person_pk: int, *, pk: int, is_filled: bool) -> dict[str, Any] | None:
    """What the page's script needs to bring a form back; nothing for another person's. One query.

    Without ``is_filled`` only which form it is: the page holds what was typed since.
    """
    row = ParkedForm.objects.filter(person=person_pk, pk=pk).first()
    if row is None:
        return None
    return {"pk": row.pk, "form": row.form, "fields": row.fields if is_filled else None}


def signed_in_person(pk: int) -> Person | None:
    """The person behind a session, how many forms they put aside, whether they have a second step.

    Also whether the desk has something of a tablet's to look at; one query for all of it.
    """
    rows = Person.objects.annotate(
        parked_count=Count("parked_forms"),
        has_second_step=Exists(SecondStep.objects.filter(person=OuterRef("pk"))),
        tablets_wait=Exists(TabletEntry.objects.filter(state=EntryState.REVIEW)) | Exists(with_gaps()),
    )
    return rows.filter(pk=pk).first()
