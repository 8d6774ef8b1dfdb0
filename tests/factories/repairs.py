"""Repairs of the past as rows: done, approved, handed over; and boats that came back."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256

from shopapp.models import (
    Approval,
    ApprovedChoice,
    Customer,
    Decision,
    Engine,
    Job,
    Outcome,
    Quote,
    QuoteChoice,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Stage,
    Vessel,
    Way,
    WorkOrder,
)
from tests.factories.customers import CustomerFactory, EngineFactory, VesselFactory
from tests.factories.work_orders import JobFactory, WorkOrderFactory

# noon in the shop of the tests, so that a day is the same in every zone that matters
NOON = 20
STAY = timedelta(days=5)


def noon(day: date) -> datetime:
    """That day at noon in the shop."""
    return datetime(day.year, day.month, day.day, NOON, tzinfo=UTC)


@dataclass(frozen=True, kw_only=True)
class Boat:
    """A boat with one engine and its owner, who had it all the time."""

    vessel: Vessel
    engine: Engine
    owner: Customer


def boat(*, make: str = "Petrel Marine", model: str = "P60") -> Boat:
    """A boat with an engine of this family."""
    owner = CustomerFactory.create()
    vessel = VesselFactory.create(owner=owner)
    return Boat(
        vessel=vessel, engine=EngineFactory.create(vessel=vessel, make=make, model=model), owner=owner
    )


def visit(of: Boat, *, gone: date, **changes: object) -> WorkOrder:
    """A visit of five days that ended then."""
    known = {"stage": Stage.GONE, "opened_at": noon(gone) - STAY, "gone_at": noon(gone)}
    return WorkOrderFactory.create(vessel=of.vessel, **known | changes)


def repaired(of: Boat, *, on: date, way: str = Way.MEND, **changes: object) -> Job:
    """A job on its engine, done by this way and handed over then; ``changes`` are fields of the job."""
    order = visit(of, gone=on)
    known = {"work_order": order, "engine": of.engine, "stage": Stage.GONE, "outcome": Outcome.DONE}
    job = JobFactory.create(**known | changes)
    agree(job, way=way, at=order.opened_at)
    return job


def came(of: Boat, *, on: date, cause: Job, is_same: bool | None = True, **changes: object) -> Job:
    """The boat came in again that day because of an earlier job; ``changes`` are fields of the new job."""
    order = visit(of, gone=on + STAY)
    known = {"work_order": order, "engine": of.engine, "stage": Stage.GONE, "outcome": Outcome.DONE}
    return JobFactory.create(**known | {"caused_by_job": cause, "is_for_same_cause": is_same} | changes)


def agree(job: Job, *, way: str | None, at: datetime, is_supplement: bool = False) -> None:
    """An approved quote about one job; no way: "not now". What was shown is not the matter here."""
    number = f"R-{Quote.objects.count():06d}"
    quote = Quote.objects.create(work_order=job.work_order, number=number, is_supplement=is_supplement)
    digest = sha256(number.encode()).hexdigest()
    revision = QuoteRevision.objects.create(quote=quote, revision=1, created_at=at)
    choice = QuoteChoice.objects.create(revision=revision, job=job)
    option = QuoteOption.objects.create(
        choice=choice, position=1, way=way or Way.MEND, title="As agreed", days=3, warranty_months=3
    )
    # frozen once its options stand
    sealed = QuoteRevision.objects.filter(pk=revision.pk)
    sealed.update(state=RevisionState.SENT, sent_at=at, shown="{}", shown_sha256=digest)
    approval = Approval.objects.create(
        revision=revision,
        decision=Decision.APPROVED,
        without_tax_minor=10_000,
        with_tax_minor=11_200,
        signed_name="Sam Rivers",
        decided_at=at,
        signed_sha256=digest,
    )
    ApprovedChoice.objects.create(approval=approval, choice=choice, option=option if way else None)
    sealed.update(state=RevisionState.DECIDED)
