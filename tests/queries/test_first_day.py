"""The guide of the first day: what is set ticks itself off, and a shop that has grown up sees none."""

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.models import FeeRate, KindTax, Part, Person, Shop, TaxCode
from shopapp.queries.first_day import GROWN_UP, MOST_OPEN_VISITS, first_steps
from tests.conftest import NOW
from tests.factories import PersonFactory, WorkOrderFactory

pytestmark = pytest.mark.django_db

ALL = ["shop", "tax", "people", "terms", "fees", "parts", "arrival"]


def not_done() -> list[str]:
    return [step.code for step in first_steps(open_visits=0) if not step.is_done]


@pytest.fixture
def bare(maren: Person) -> Shop:
    """A shop of which nothing but the owner and the row itself is there."""
    FeeRate.objects.all().delete()
    KindTax.objects.all().delete()
    Shop.objects.update(address="", phone="", intake_text="")
    return Shop.objects.get()


def test_bare_shop_has_every_step_before_it(bare: Shop) -> None:
    assert not_done() == ALL


def test_each_step_ticks_itself_off(bare: Shop) -> None:
    Shop.objects.update(
        address="1 Heron Inlet Road", phone="604 555 0100", intake_text="I leave the boat here."
    )
    PersonFactory(is_front_desk=True)
    FeeRate.objects.create(name="Lift out", kind="lift", unit_price_e4=1)

    assert not_done() == ["tax", "people", "parts", "arrival"]

    PersonFactory(is_technician=True)
    Part.objects.create(number="SR-1188", description="Seal")
    assert not_done() == ["tax", "arrival"]


def test_somebody_who_left_is_no_technician(bare: Shop) -> None:
    PersonFactory(is_front_desk=True)
    PersonFactory(is_technician=True, is_active=False)

    assert "people" in not_done()


def test_shop_with_everything_set_sees_no_guide(bare: Shop, tobiah: Person, ilse: Person) -> None:
    Shop.objects.update(
        address="1 Heron Inlet Road", phone="604 555 0100", intake_text="I leave the boat here."
    )
    FeeRate.objects.create(name="Lift out", kind="lift", unit_price_e4=1)
    Part.objects.create(number="SR-1188", description="Seal")
    WorkOrderFactory()
    assert not_done() == ["tax"]

    KindTax.objects.create(kind="part", tax_code=TaxCode.objects.earliest("pk"))

    assert first_steps(open_visits=1) == ()


def test_guide_goes_after_the_tenth_boat(bare: Shop) -> None:
    WorkOrderFactory.create_batch(GROWN_UP - 1, stage="gone", gone_at=NOW)
    assert not_done() != []

    WorkOrderFactory(stage="gone", gone_at=NOW)

    assert first_steps(open_visits=0) == ()


def test_no_shop_no_guide(db: None) -> None:
    assert first_steps(open_visits=0) == ()


@pytest.mark.parametrize(
    ("open_visits", "queries"), [(0, 1), (MOST_OPEN_VISITS, 1), (MOST_OPEN_VISITS + 1, 0)]
)
def test_guide_takes_one_query_in_a_quiet_shop_and_none_in_a_busy_one(
    bare: Shop, django_assert_num_queries: DjangoAssertNumQueries, open_visits: int, queries: int
) -> None:
    with django_assert_num_queries(queries):
        assert bool(first_steps(open_visits=open_visits)) == bool(queries)
