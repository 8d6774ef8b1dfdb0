"""Small predicates, each over every role."""

import pytest

from shopapp import access
from shopapp.models import CustomerLink, Person, QuoteRevision
from tests.factories import JobFactory

ROLES = {
    "front desk": Person(is_front_desk=True),
    "technician": Person(is_technician=True),
    "owner": Person(is_owner=True),
    "nobody": Person(),
}


@pytest.mark.parametrize(
    ("predicate", "allowed"),
    [
        (access.may_use_desk, {"front desk", "owner"}),
        (access.may_price, {"front desk", "owner"}),
        (access.may_log_work, {"front desk", "technician", "owner"}),
        (access.may_see_costs, {"owner"}),
        (access.may_watch_doors, {"owner"}),
        (access.is_staff_member, {"front desk", "technician", "owner"}),
    ],
)
def test_predicate_holds_for_these_roles_only(predicate: object, allowed: set[str]) -> None:
    assert {role for role, person in ROLES.items() if predicate(person)} == allowed


def test_technician_sees_only_work_orders_with_own_job(ilse: Person, tobiah: Person, wen: Person) -> None:
    work_order = JobFactory(technician=tobiah).work_order

    seen = [access.may_see_work_order(person, work_order) for person in (ilse, tobiah, wen)]

    assert seen == [True, True, False]


def test_link_reaches_its_own_revision_only() -> None:
    link = CustomerLink(revision_id=7)

    assert access.link_reaches(link, QuoteRevision(pk=7))
    assert not access.link_reaches(link, QuoteRevision(pk=8))
