"""Somebody who says yes for the owner goes up to what they were trusted with, and no further."""

from datetime import datetime, timedelta

import pytest

from shopapp.actions import approvals
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.refusals import Refused
from shopapp.models import Approval, Job, PartInVisit, Person, QuoteRevision, VisitPerson
from tests.factories import CustomerFactory, JobFactory, VesselFactory
from tests.factories.quotes import (
    answered,
    behind,
    first_options,
    opened_link,
    sent_quote,
    sent_supplement,
)

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


@pytest.fixture
def sent(ilse: Person, now: datetime) -> QuoteRevision:
    """Asks Pia Holm, whose boat it is, for 354.80 without tax."""
    vessel = VesselFactory(owner=CustomerFactory(name="Pia Holm"))
    return sent_quote(ilse, at=now, work_order=JobFactory(work_order__vessel=vessel).work_order)


def trust(revision: QuoteRevision, *, up_to_minor: int | None, name: str = "Aud Nilsen") -> None:
    """Somebody may say yes up to this amount without tax."""
    VisitPerson.objects.create(
        work_order=revision.quote.work_order, part=PartInVisit.APPROVER, name=name, up_to_minor=up_to_minor
    )


def signs(revision: QuoteRevision, person: Person, *, at: datetime, name: str = "Aud Nilsen") -> Approval:
    """Yes to the first options by whoever signs with this name."""
    link, _ = opened_link(revision, person, at=at)
    data = DecisionInput(is_declined=False, chosen=first_options(revision), signed_name=name)
    return approvals.decide(revision.pk, data, by=behind(link, at=at))


@pytest.mark.parametrize("name", ["Aud Nilsen", " aud  NILSEN "])
def test_approver_goes_no_further_than_trusted(
    sent: QuoteRevision, ilse: Person, now: datetime, name: str
) -> None:
    trust(sent, up_to_minor=35_479)

    with pytest.raises(Refused) as refusal:
        signs(sent, ilse, at=now, name=name)

    assert refusal.value.sentence == (
        "Aud Nilsen may agree to $354.79 without tax on this visit, and this goes beyond it. "
        "Please let Pia Holm answer."
    )
    assert (Approval.objects.count(), Job.objects.get().stage) == (0, "with_customer")


@pytest.mark.parametrize("up_to_minor", [35_480, None])
def test_approver_agrees_up_to_the_limit(
    sent: QuoteRevision, ilse: Person, now: datetime, up_to_minor: int | None
) -> None:
    trust(sent, up_to_minor=up_to_minor)

    assert signs(sent, ilse, at=now).without_tax_minor == 35_480


def test_approver_may_say_no_to_any_amount(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    trust(sent, up_to_minor=0)
    link, _ = opened_link(sent, ilse, at=now)
    data = DecisionInput(is_declined=True, chosen={}, signed_name="Aud Nilsen")

    assert approvals.decide(sent.pk, data, by=behind(link, at=now)).decision == "declined"


def test_owner_of_the_boat_has_no_limit(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    trust(sent, up_to_minor=100, name="Pia Holm")

    assert signs(sent, ilse, at=now, name="Pia Holm").without_tax_minor == 35_480


def test_small_sums_of_an_approver_add_up(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    trust(sent, up_to_minor=35_480 + 3_679)
    signs(sent, ilse, at=now)
    extra = sent_supplement(Job.objects.get(), ilse, at=now + HOUR)

    with pytest.raises(Refused, match="Please let Pia Holm answer"):
        signs(extra, ilse, at=now + HOUR)


def test_what_the_owner_agreed_is_not_the_approvers(sent: QuoteRevision, ilse: Person, now: datetime) -> None:
    answered(sent, ilse, at=now)
    extra = sent_supplement(Job.objects.get(), ilse, at=now + HOUR)
    trust(extra, up_to_minor=3_680, name="Wes Lund")

    assert signs(extra, ilse, at=now + HOUR, name="Wes Lund").without_tax_minor == 3_680
