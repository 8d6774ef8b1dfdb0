"""An extra part on a job, and the addresses at which it is put right."""

from datetime import datetime
from decimal import Decimal

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.actuals import UsePartInput, use_part
from shopapp.models import Job, PartUsed, Person, Stage
from tests.factories.jobs import agreed_job


def extra_row(technician: Person, *, at: datetime) -> PartUsed:
    """Two plug gaskets that a technician logged on a job in hand, beside its plan."""
    job = agreed_job(Stage.IN_HAND, technician=technician)
    by = Actor(scope=Scope.DESK, person=technician, at=at)
    return use_part(job.pk, UsePartInput(quantity=Decimal(2), description="Plug gasket"), by=by)


def address(row: PartUsed, deed: str = "") -> str:
    """The page of the row, or what is sent from there."""
    return f"/work-orders/row/part_used-{row.pk}/" + (f"{deed}/" if deed else "")


def bench(job: Job) -> str:
    """Where one is afterwards."""
    return f"/work-orders/job/{job.pk}/bench/"
