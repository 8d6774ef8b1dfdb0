"""Work orders and jobs."""

from datetime import UTC, datetime

import factory

from shopapp.models import Job, JobAssignment, Person, VesselOwnership, WorkOrder
from tests.factories.customers import EngineFactory, VesselFactory
from tests.factories.people import PersonFactory


class WorkOrderFactory(factory.django.DjangoModelFactory[WorkOrder]):
    """A boat that is here, brought by its owner."""

    class Meta:
        model = WorkOrder

    number = factory.Sequence(lambda n: f"T-{n:05d}")
    vessel = factory.SubFactory(VesselFactory)
    customer = factory.LazyAttribute(
        lambda w: VesselOwnership.objects.get(vessel=w.vessel, until_date=None).customer
    )
    complaint = "Gear oil looks milky"
    opened_at = datetime(2026, 6, 1, 15, 0, tzinfo=UTC)
    opened_by = factory.SubFactory(PersonFactory)


class JobFactory(factory.django.DjangoModelFactory[Job]):
    """One job on an engine of the work order's boat; ``technician`` assigns somebody."""

    class Meta:
        model = Job
        skip_postgeneration_save = True

    work_order = factory.SubFactory(WorkOrderFactory)
    engine = factory.LazyAttribute(lambda j: EngineFactory(vessel=j.work_order.vessel))
    complaint = "Gear oil looks milky"
    stage = factory.SelfAttribute("work_order.stage")

    @factory.post_generation
    def technician(self, create: bool, extracted: Person | None, **_: object) -> None:
        if create and extracted is not None:
            JobAssignment.objects.create(job=self, person=extracted)
