"""A visit that was just taken in, with terms that nobody has signed yet."""

import pytest
from django.utils import timezone

from shopapp.models import Intake, Shop, WorkOrder
from tests.factories import JobFactory, VesselFactory, WorkOrderFactory
from tests.factories.intakes import unsigned


@pytest.fixture
def visit(shop: Shop) -> WorkOrder:
    order = WorkOrderFactory(
        vessel=VesselFactory(name="Kittiwake"),
        number="W-00012",
        keys_tag="17",
        fuel="half",
        place="Yard 4",
        complaint="Gear oil looks milky",
    )
    return JobFactory(work_order=order).work_order


@pytest.fixture
def terms(visit: WorkOrder) -> Intake:
    return unsigned(at=timezone.now(), work_order=visit)
