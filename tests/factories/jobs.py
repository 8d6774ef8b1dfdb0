"""Jobs on their way, with what a customer agreed to."""

import io
from datetime import datetime, timedelta

from PIL import Image

from shopapp.files.photos import StoredPhoto, store_photo
from shopapp.models import Engine, Job, Outcome, PartUsed, Person, QuoteLine, Stage
from tests.factories.invoices import Offered, Planned, approve
from tests.factories.work_orders import JobFactory, WorkOrderFactory

SEAL = Planned(
    kind="part", description="Shaft seal", number="SR-1188", quantity_milli=2_000, unit_price_e4=184_000
)
OIL = Planned(kind="fluid", description="Gear oil", number="", unit="L", unit_price_e4=240_000)
HOURS = Planned(
    kind="labour",
    description="Fit the seals",
    number="",
    quantity_milli=2_500,
    unit="h",
    unit_price_e4=1_150_000,
)


def job_at(stage: Stage, *, technician: Person | None = None, **changes: object) -> Job:
    """A job alone on its work order, both at this stage; a ready one is done."""
    work_order = WorkOrderFactory.create(stage=stage)
    outcome = Outcome.DONE if stage == Stage.READY else Outcome.OPEN
    known = {"work_order": work_order, "technician": technician, "outcome": outcome}
    return JobFactory.create(**known | changes)


def agreed_job(stage: Stage, *, technician: Person | None = None, **changes: object) -> Job:
    """The same, after the customer chose seals: two seals, a litre of oil, two and a half hours."""
    job = job_at(stage, technician=technician, **changes)
    approve(job, Offered(title="New seals", lines=[SEAL, OIL, HOURS]))
    return job


def plan_line(job: Job, kind: str) -> QuoteLine:
    """The agreed line of a kind."""
    return QuoteLine.objects.get(option__choice__job=job, kind=kind)


def log_parts(job: Job, person: Person, *, count: int, at: datetime, line: QuoteLine | None = None) -> None:
    """Parts in the actual book, one a minute: part 1, part 2 and so on."""
    moments = [at + timedelta(minutes=number) for number in range(1, count + 1)]
    PartUsed.objects.bulk_create(
        PartUsed(
            job=job,
            plan_line=line,
            description=f"part {number}",
            quantity_milli=1_000,
            logged_by=person,
            happened_at=moment,
            recorded_at=moment,
        )
        for number, moment in enumerate(moments, start=1)
    )


def picture(*, size: tuple[int, int] = (60, 40), colour: str = "teal", form: str = "JPEG") -> bytes:
    """A small picture as a camera would send it."""
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, form)
    return out.getvalue()


def stored(colour: str = "teal") -> StoredPhoto:
    """A photo that lies in the store."""
    return store_photo(io.BytesIO(picture(colour=colour)), name="photo.jpg")


def lay_up(job: Job, person: Person, *, at: datetime) -> Engine:
    """The engine of the job, fogged and laid up on it."""
    Engine.objects.filter(pk=job.engine_id).update(laid_up_at=at, laid_up_by=person, laid_up_on=job)
    return Engine.objects.get(pk=job.engine_id)
