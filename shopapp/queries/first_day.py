"""What the owner of a young shop still has to set: each step ticks itself off by what the database holds."""

from dataclasses import dataclass

from django.db.models import Exists
from django.utils.translation import gettext_lazy as _

from shopapp.models import FeeRate, KindTax, LabourRate, Part, Person, Shop, WorkOrder

# so many boats were taken in that nobody needs a guide any more
GROWN_UP = 10
# with more open visits than this the day is busy enough
MOST_OPEN_VISITS = 3
# what to set, and why it matters
WORDS = {
    "shop": (_("Name, address and telephone of the shop"), _("They stand on every paper.")),
    "tax": (_("Tax, and the price of an hour"), _("Every line on a quote and a bill takes them.")),
    "people": (_("A front desk and a technician"), _("Each signs in with a name of their own.")),
    "terms": (
        _("Terms that the customer signs"),
        _("The words that they agree to when the boat comes in, and what may be spent before."),
    ),
    "fees": (
        _("Fees: lift, storage, used oil"),
        _("Then nobody has to remember them when a bill is written."),
    ),
    "parts": (
        _("The parts you use most"),
        _("The bench picks them by number, and quotes take their price."),
    ),
    "arrival": (_("The first boat"), _("Take it in: that opens its work order and prints its tag.")),
}
# the rest is written where the program is installed
WHERE = {"terms": "shop:terms", "fees": "shop:terms", "parts": "parts:new", "arrival": "arrivals:new"}


@dataclass(frozen=True, kw_only=True)
class FirstStep:
    """One thing to set, and where; without an address it is set where the program is installed."""

    code: str
    word: str
    why: str
    url_name: str
    is_done: bool


def first_steps(*, open_visits: int) -> tuple[FirstStep, ...]:
    """The steps of a young shop; none when all are done, or the shop is busy. At most one query."""
    if open_visits > MOST_OPEN_VISITS:
        return ()
    tenth = WorkOrder.objects.order_by("pk")[GROWN_UP - 1 : GROWN_UP]
    people = Person.objects.filter(is_active=True)
    shop = (
        Shop.objects.filter(~Exists(tenth), pk=1)
        .annotate(
            has_tax=Exists(KindTax.objects.all()) & Exists(LabourRate.objects.all()),
            has_people=Exists(people.filter(is_technician=True)) & Exists(people.filter(is_front_desk=True)),
            has_fees=Exists(FeeRate.objects.all()),
            has_parts=Exists(Part.objects.all()),
            has_arrivals=Exists(WorkOrder.objects.all()),
        )
        .first()
    )
    steps = _steps(shop) if shop is not None else ()
    return () if all(step.is_done for step in steps) else steps


def _steps(shop: Shop) -> tuple[FirstStep, ...]:
    known = vars(shop)  # the annotated values stand among the row's own
    done = {
        "shop": bool(shop.address and shop.phone),
        "tax": known["has_tax"],
        "people": known["has_people"],
        "terms": bool(shop.intake_text),
        "fees": known["has_fees"],
        "parts": known["has_parts"],
        "arrival": known["has_arrivals"],
    }
    return tuple(
        FirstStep(
            code=code,
            word=str(WORDS[code][0]),
            why=str(WORDS[code][1]),
            url_name=WHERE.get(code, ""),
            is_done=bool(is_done),
        )
        for code, is_done in done.items()
    )
