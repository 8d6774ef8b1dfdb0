"""Terms of a visit, unsigned, and signed as a customer would."""

from datetime import datetime

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.intakes import SignInput, open_intake, sign_intake
from shopapp.documents.canonical import canonical, digest
from shopapp.models import CustomerLink, Intake, Person, Shop, WorkOrder
from shopapp.queries.intakes import intake_content
from tests.factories.work_orders import JobFactory, WorkOrderFactory

WORDS = {
    "diagnosis_fee_minor": 8_000,
    "spending_limit_minor": 25_000,
    "intake_text": "I leave my boat on these terms.",
    "storage_terms": "12.00 a day.",
    "storage_free_days": 7,
    "teardown_terms": "An engine taken apart may stay in boxes.",
}


def unsigned(*, at: datetime, work_order: WorkOrder | None = None, **terms: object) -> Intake:
    """Terms of a visit with one job: 80.00 for finding the fault, 250.00 without asking."""
    Shop.objects.update(**WORDS)
    order = work_order or JobFactory.create(work_order=WorkOrderFactory.create()).work_order
    usual = {"diagnosis_fee_minor": 8_000, "spending_limit_minor": 25_000, "may_run": True}
    return Intake.objects.create(work_order=order, created_at=at, **usual | terms)


def seen(intake: Intake, *, at: datetime) -> str:
    """The hash of what is read at that moment."""
    return digest(canonical(intake_content(Intake.objects.get(pk=intake.pk), at=at)))


def opened(intake: Intake, person: Person, *, at: datetime) -> tuple[CustomerLink, str]:
    """The link for the tablet, and its token."""
    return open_intake(intake.pk, by=Actor(scope=Scope.DESK, person=person, at=at))


def signed(intake: Intake, person: Person, *, at: datetime, **changes: object) -> Intake:
    """The customer reads and signs on the tablet that a person handed over."""
    link, _token = opened(intake, person, at=at)
    data = SignInput(**{"signed_name": "Anna Berg", "seen_sha256": seen(intake, at=at)} | changes)
    return sign_intake(intake.pk, data, by=Actor(scope=Scope.LINK, link=link, at=at))
