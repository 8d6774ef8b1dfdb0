"""What stands beside the jobs of a visit, in one query: people, terms, holds, custody, calls, tablets."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import BigIntegerField, CharField, DateField, DateTimeField, F, QuerySet, Value
from django.db.models.functions import Cast

from shopapp import access
from shopapp.calc.money import from_minor
from shopapp.models import (
    CallSlip,
    CustodyEntry,
    CustodyMove,
    Device,
    DockCall,
    Hold,
    Intake,
    Job,
    PartInVisit,
    Person,
    PlacedHold,
    Thing,
    VisitPerson,
    WorkOrder,
)
from shopapp.queries.devices import Tablet
from shopapp.queries.people import Colleague

RELEASED_SHOWN = 5


def _text() -> Any:
    return Cast(Value(""), CharField())


def _nothing(field: Any) -> Any:
    # PostgreSQL takes an untyped NULL for text, and then refuses the union with a time
    return Cast(Value(None), field)


# what each book puts into the shared columns; a column that is not named holds nothing
EMPTY: Mapping[str, Any] = {
    "kind": _text(),
    "who": _text(),
    "note": _text(),
    "extra": _text(),
    "moment": _nothing(DateTimeField()),
    "day": _nothing(DateField()),
    "number": _nothing(BigIntegerField()),
    "other": _nothing(BigIntegerField()),
}


@dataclass(frozen=True, kw_only=True)
class HoldRow:
    """Something a visit waits for (or waited for, once it is released); ``job`` None: the whole visit."""

    pk: int
    code: str
    word: str
    note: str
    chaser: str
    chase_date: date
    is_due: bool
    job: int | None
    released_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class PersonRow:
    """Somebody beside the owner, and what they have to do with the visit."""

    word: str
    name: str
    phone: str
    customer_pk: int | None


@dataclass(frozen=True, kw_only=True)
class ThingRow:
    """Where a thing of the customer is, and since when."""

    thing: str
    word: str
    is_here: bool
    place: str
    who: str
    since: datetime


@dataclass(frozen=True, kw_only=True)
class TermsRow:
    """On what terms the boat was taken in; amounts without tax. ``signed_at`` None: not signed yet."""

    limit: Decimal
    fee: Decimal
    signed_name: str
    signed_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class SlipRow:
    """A call to answer."""

    pk: int
    name: str
    phone: str
    about: str
    call_by_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class DockRow:
    """To whom, and to which tablet, the visit is handed out today."""

    pk: int
    person: str
    tablet: str
    handed_at: datetime


@dataclass(frozen=True, kw_only=True)
class KinRow:
    """A job of another visit: where one of this visit comes from, or that came of it. The owner's."""

    of_job: int
    job_pk: int
    number: str
    position: int
    work_order_pk: int
    is_cause: bool


@dataclass(frozen=True, kw_only=True)
class Sides:
    """All of it, as far as the viewer may see it."""

    holds: tuple[HoldRow, ...]
    released: tuple[HoldRow, ...]
    things: tuple[ThingRow, ...]
    people: tuple[PersonRow, ...] = ()
    terms: TermsRow | None = None
    slips: tuple[SlipRow, ...] = ()
    technicians: tuple[Colleague, ...] = ()
    tablets: tuple[Tablet, ...] = ()
    dock_call: DockRow | None = None
    kin: tuple[KinRow, ...] = ()


def sides_of(
    work_order: WorkOrder, *, jobs: Sequence[Job], viewer: Person, today: date, currency: str
) -> Sides:
    """What stands beside the jobs, in one query.

    Telephone numbers, terms and calls are the desk's, where a job comes from is the owner's; a technician
    reads no note of a hold on payment.
    """
    books = _books(work_order, jobs=jobs, viewer=viewer, today=today)
    found: defaultdict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in books[0].union(*books[1:], all=True).order_by("side_book", "id"):
        found[row["side_book"]].append(row)
    is_desk = access.may_use_desk(viewer)
    holds = [_hold(row, today=today, is_desk=is_desk) for row in found["hold"]]
    return Sides(
        holds=tuple(
            sorted((one for one in holds if one.released_at is None), key=lambda one: one.chase_date)
        ),
        released=tuple(one for one in holds if one.released_at is not None)[-RELEASED_SHOWN:],
        things=_things(found["custody"]),
        people=tuple(_person(row) for row in found["person"]),
        terms=_terms(found["terms"], currency=currency),
        slips=tuple(_slip(row) for row in found["slip"]),
        technicians=_technicians(found["technician"]),
        tablets=_tablets(found["tablet"]),
        dock_call=_dock_call(found["dock"]),
        kin=tuple(_kin(row) for row in found["kin"]),
    )


def _book(rows: "QuerySet[Any]", name: str, **columns: Any) -> "QuerySet[Any, dict[str, Any]]":
    """The rows in the shared columns, which bear names of their own: a model may have a ``kind`` too."""
    values = {"book": Cast(Value(name), CharField()), **EMPTY, **columns}
    shared = {f"side_{key}": value for key, value in values.items()}
    told: QuerySet[Any, dict[str, Any]] = rows.order_by().annotate(**shared).values("id", *shared)
    return told


def _books(
    work_order: WorkOrder, *, jobs: Sequence[Job], viewer: Person, today: date
) -> list["QuerySet[Any, dict[str, Any]]"]:
    mine = {"work_order": work_order}
    books = [
        _book(
            PlacedHold.objects.filter(**mine),
            "hold",
            kind=F("kind"),
            who=F("chaser__name"),
            note=F("note"),
            moment=F("released_at"),
            day=F("chase_date"),
            number=Cast(F("job__position"), BigIntegerField()),
        ),
        _book(
            CustodyEntry.objects.filter(**mine),
            "custody",
            kind=F("thing"),
            extra=F("move"),
            who=F("who"),
            note=F("place"),
            moment=F("happened_at"),
        ),
    ]
    if access.may_use_desk(viewer):
        books += [*_desk_books(mine), *_dock_books(mine, today=today)]
    return books + (_kin_books(jobs) if access.may_see_costs(viewer) else [])


def _desk_books(mine: Mapping[str, WorkOrder]) -> list["QuerySet[Any, dict[str, Any]]"]:
    return [
        _book(
            VisitPerson.objects.filter(**mine),
            "person",
            kind=F("part"),
            who=F("name"),
            note=F("phone"),
            number=F("customer_id"),
        ),
        _book(
            Intake.objects.filter(**mine),
            "terms",
            who=F("signed_name"),
            moment=F("signed_at"),
            number=F("spending_limit_minor"),
            other=F("diagnosis_fee_minor"),
        ),
        _book(
            CallSlip.objects.filter(**mine, done_at=None),
            "slip",
            who=F("name"),
            note=F("about"),
            extra=F("phone"),
            moment=F("call_by_at"),
        ),
        _book(Person.objects.filter(is_technician=True, is_active=True), "technician", who=F("name")),
    ]


def _dock_books(mine: Mapping[str, WorkOrder], *, today: date) -> list["QuerySet[Any, dict[str, Any]]"]:
    handed = DockCall.objects.in_force_on(today).filter(**mine)
    return [
        _book(handed, "dock", who=F("person__name"), note=F("device__name"), moment=F("handed_at")),
        _book(Device.objects.filter(ended_at=None), "tablet", who=F("name")),
    ]


def _kin_books(jobs: Sequence[Job]) -> list["QuerySet[Any, dict[str, Any]]"]:
    columns = {
        "who": F("work_order__number"),
        "number": Cast(F("position"), BigIntegerField()),
        "other": F("work_order_id"),
    }
    # one row for each pair: a job may be where several come from
    causes = Job.objects.filter(comebacks__in=jobs)
    is_cause = {"kind": Cast(Value("cause"), CharField()), "extra": Cast(F("comebacks"), CharField())}
    later = {"extra": Cast(F("caused_by_job"), CharField())}
    return [
        _book(causes, "kin", **columns, **is_cause),
        _book(Job.objects.filter(caused_by_job__in=jobs), "kin", **columns, **later),
    ]


def _hold(row: Mapping[str, Any], *, today: date, is_desk: bool) -> HoldRow:
    kind = Hold(row["side_kind"])
    return HoldRow(
        pk=row["id"],
        code=f"hold-{kind.value}",
        word=str(kind.label),
        note=row["side_note"] if is_desk or kind != Hold.PAYMENT else "",
        chaser=row["side_who"],
        chase_date=row["side_day"],
        is_due=row["side_day"] <= today,
        job=row["side_number"],
        released_at=row["side_moment"],
    )


def _things(rows: Iterable[Mapping[str, Any]]) -> tuple[ThingRow, ...]:
    """The last entry of each thing counts."""
    latest = {row["side_kind"]: row for row in rows}
    return tuple(
        ThingRow(
            thing=thing.value,
            word=str(thing.label),
            is_here=latest[thing]["side_extra"] != CustodyMove.OUT,
            place=latest[thing]["side_note"],
            who=latest[thing]["side_who"],
            since=latest[thing]["side_moment"],
        )
        for thing in Thing
        if thing in latest
    )


def _person(row: Mapping[str, Any]) -> PersonRow:
    return PersonRow(
        word=str(PartInVisit(row["side_kind"]).label),
        name=row["side_who"],
        phone=row["side_note"],
        customer_pk=row["side_number"],
    )


def _terms(rows: Sequence[Mapping[str, Any]], *, currency: str) -> TermsRow | None:
    """The terms that were signed last, else those that are not signed yet."""
    signed = sorted(
        (row for row in rows if row["side_moment"] is not None), key=lambda row: row["side_moment"]
    )
    if not rows:
        return None
    row = (signed or list(rows))[-1]
    return TermsRow(
        limit=from_minor(row["side_number"], currency=currency),
        fee=from_minor(row["side_other"], currency=currency),
        signed_name=row["side_who"],
        signed_at=row["side_moment"],
    )


def _slip(row: Mapping[str, Any]) -> SlipRow:
    return SlipRow(
        pk=row["id"],
        name=row["side_who"],
        phone=row["side_extra"],
        about=row["side_note"],
        call_by_at=row["side_moment"],
    )


def _technicians(rows: Iterable[Mapping[str, Any]]) -> tuple[Colleague, ...]:
    people = [Colleague(pk=row["id"], name=row["side_who"]) for row in rows]
    return tuple(sorted(people, key=lambda one: (one.name, one.pk)))


def _tablets(rows: Iterable[Mapping[str, Any]]) -> tuple[Tablet, ...]:
    tablets = [Tablet(pk=row["id"], name=row["side_who"]) for row in rows]
    return tuple(sorted(tablets, key=lambda one: (one.name, one.pk)))


def _dock_call(rows: Sequence[Mapping[str, Any]]) -> DockRow | None:
    """At most one is in force."""
    return next(
        (
            DockRow(
                pk=row["id"], person=row["side_who"], tablet=row["side_note"], handed_at=row["side_moment"]
            )
            for row in rows
        ),
        None,
    )


def _kin(row: Mapping[str, Any]) -> KinRow:
    return KinRow(
        of_job=int(row["side_extra"]),
        job_pk=row["id"],
        number=row["side_who"],
        position=row["side_number"],
        work_order_pk=row["side_other"],
        is_cause=row["side_kind"] == "cause",
    )
