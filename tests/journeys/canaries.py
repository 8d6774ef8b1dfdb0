"""What must never be on a tablet, planted in the shop and looked for in everything that the browser keeps."""

from collections.abc import Collection, Sequence

from django.utils import timezone

from shopapp.models import Customer, Job, PartUsed, Stage
from tests.factories import JobFactory
from tests.journeys.conftest import Watched
from tests.journeys.tablets import dump

CANARIES = 40


def plant(jobs: Sequence[Job]) -> set[str]:
    """People, telephones, addresses and prices, of the own jobs and of others; prices on the first job."""
    complaints = [f"Canary{number} rattles" for number in range(CANARIES - len(jobs))]
    others = [JobFactory.create(work_order__stage=Stage.IN_HAND, complaint=one) for one in complaints]
    planted = set(complaints)
    for number, job in enumerate([*jobs, *others]):
        customer = {
            "name": f"Kanaria{number} Lind",
            "phone": f"+1 902 555 {7000 + number}",
            "email": f"kanaria{number}@example.org",
            "address": f"{7000 + number} Kanaria Lane",
        }
        Customer.objects.filter(pk=job.work_order.customer_id).update(**customer)
        planted |= set(customer.values())
    for number in range(CANARIES):
        log_priced_part(jobs[0], number)
        planted |= {f"731.{number:02}", f"842.{number:02}"}
    return planted


def log_priced_part(job: Job, number: int) -> None:
    moment = timezone.now()
    PartUsed.objects.create(
        job=job,
        description=f"Bolt {number}",
        quantity_milli=1_000,
        unit_cost_e4=7_310_000 + 100 * number,
        unit_price_e4=8_420_000 + 100 * number,
        logged_by=job.assignments.get().person,
        happened_at=moment,
        recorded_at=moment,
    )


def found_of(planted: Collection[str], window: Watched) -> list[str]:
    """Those of the planted words that the browser has kept."""
    words = str(dump(window))
    return [canary for canary in planted if canary in words]
