"""What happens beside the visits in the demo: calls, sales over the counter, a form put aside."""

from decimal import Decimal

from shopapp.actions import calls, counter_sales, parking
from shopapp.actions.actor import Actor
from shopapp.management.demo.world import Facts, World
from shopapp.models import CallSlip


def write_slip(*, facts: Facts, world: World, by: Actor) -> None:
    """Somebody rang."""
    visit = world.visits.get(facts.get("visit", ""))
    call_by = facts.get("call_by")
    person = facts.get("for")
    data = calls.CallInput(
        name=facts["name"],
        about=facts["about"],
        phone=facts.get("phone", ""),
        call_by_at=None if call_by is None else world.calendar.due(call_by),
        for_person=None if person is None else world.people[person].pk,
        work_order=None if visit is None else visit.work_order.pk,
    )
    calls.write_slip(data, by=by)


def close_slip(*, facts: Facts, world: World, by: Actor) -> None:
    """The call was made."""
    slip = CallSlip.objects.get(name=facts["name"], done_at=None)
    calls.close_slip(slip.pk, facts["answer"], by=by)


def sell(*, facts: Facts, world: World, by: Actor) -> None:
    """A walk-in takes something and pays."""
    lines = [
        counter_sales.SaleLine(number=number, quantity=Decimal(quantity))
        for number, quantity in facts["lines"]
    ]
    data = counter_sales.SaleInput(lines=lines, method=facts["method"])
    total = counter_sales.sale_figures(data, by=by).total_minor
    counter_sales.sell_over_counter(data, seen_minor=total, by=by)


def park(*, facts: Facts, world: World, by: Actor) -> None:
    """The telephone rings while a form is half filled."""
    data = parking.ParkInput(
        title=facts["title"],
        path=facts["path"],
        form=facts["form"],
        fields=[(name, value) for name, value in facts["fields"]],
    )
    parking.park_form(data, by=by)
