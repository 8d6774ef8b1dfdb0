"""What of the plan and of the actual book goes on a bill, by the price kind that was agreed.

The one place that turns both into proposed lines. Common practice, no source; sums as ``calc.totals``."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from shopapp.calc.errors import BadInput
from shopapp.calc.money import allocate, from_minor, quantize, require_decimal, round_money, to_minor
from shopapp.calc.tax import TaxTreatment
from shopapp.calc.totals import Line, Rules, line_amount

# a row of the plan or of the actual book: its table and its key
type Source = tuple[str, int]

MINUTES_AN_HOUR = 60
HOUR_STEP = Decimal("0.001")
ONE = Decimal(1)
# the amount of a line does not depend on how it is taxed
_ANY_TAX = TaxTreatment(code="any", category="Z", components=())


class Agreed(StrEnum):
    """How a job is billed, as stated on the quote."""

    FIXED = "fixed"
    CEILING = "ceiling"
    TIME = "time"


class Origin(StrEnum):
    """Where a proposed line comes from."""

    PLAN = "plan"
    ACTUAL = "actual"
    CEILING = "ceiling"
    DISCOUNT = "discount"


@dataclass(frozen=True, kw_only=True)
class Item:
    """One line that may be billed. ``tax`` is the key of its tax code; ``sources`` are the rows it bills.

    ``off_share`` is the discount on the whole of the quote that a logged row was planned in; ``off`` is what
    that discount takes off an agreed line, in whole coins (see ``agreed_offs``).
    """

    sources: tuple[Source, ...]
    kind: str
    description: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    tax: int
    discount: Decimal = Decimal(0)
    number: str = ""
    condition: str = "new"
    part: int | None = None
    off_share: Decimal = Decimal(0)
    off: Decimal = Decimal(0)


@dataclass(frozen=True, kw_only=True)
class Clocked:
    """Minutes of one time entry, with the price of an hour and what the bill calls it."""

    source: Source
    minutes: int
    item: Item


@dataclass(frozen=True, kw_only=True)
class JobBooks:
    """What a job may bill now: rows that no bill has yet, of the customer's alone.

    ``agreed`` is what the approvals name for the job, without tax, and ``billed`` what bills have already
    taken of it. ``is_plan_owed``: the work was done as agreed, or leaving it was agreed; else (declined, no
    fault, later) nothing of the plan is owed and the logged rows count. ``minimum`` is the plan line that
    brings a small job up to the shop's minimum charge.
    """

    price: Agreed
    is_plan_owed: bool
    planned: Sequence[Item] = ()
    logged: Sequence[Item] = ()
    overridden: Sequence[Item] = ()
    agreed: Decimal = Decimal(0)
    billed: Decimal = Decimal(0)
    minimum: Item | None = None
    off_words: str = ""
    above_words: str = ""


@dataclass(frozen=True, kw_only=True)
class Proposed:
    """A proposed line, where it comes from, and its amount in whole coins."""

    origin: Origin
    item: Item
    amount: Decimal


def billed_lines(job: JobBooks, *, rules: Rules) -> tuple[Proposed, ...]:
    """The lines that a job puts on a bill, in order.

    Fixed: the approved lines, whatever was used. Ceiling: the logged rows at their frozen prices, and what
    is above the agreed amount taken off again by a line for each tax code. Time and material: the logged
    rows. Rows the owner bills although nobody agreed to them come on top of each.
    """
    extra = _proposed(job.overridden, origin=Origin.ACTUAL, rules=rules)
    if not job.is_plan_owed:
        return (*_proposed(job.logged, origin=Origin.ACTUAL, rules=rules), *extra)
    if job.price == Agreed.FIXED:
        return (*_planned_lines(job, rules=rules), *extra)
    logged = _logged_lines(job, rules=rules)
    if job.price == Agreed.CEILING:
        logged = _under_ceiling(logged, job=job, rules=rules)
    return (*logged, *extra)


def hours_of(minutes: int) -> Decimal:
    """Minutes as hours to bill, cut to 1/1,000 h (3.6 seconds): the rest is never the customer's."""
    if isinstance(minutes, bool) or not isinstance(minutes, int):
        raise TypeError(f"minutes: whole minutes are int, never {type(minutes).__name__}")
    if minutes < 0:
        raise BadInput("minutes", minutes, "0 or more")
    return quantize(Fraction(minutes, MINUTES_AN_HOUR), exponent=HOUR_STEP, mode="down")


def grouped_time(entries: Iterable[Clocked]) -> tuple[Item, ...]:
    """Time entries as lines: one for each wording, price, discount and tax, its minutes summed before they
    are cut to hours. The order is that of the first entry of each."""
    groups: dict[Item, list[Clocked]] = defaultdict(list)
    for entry in entries:
        groups[replace(entry.item, sources=(), quantity=Decimal(0))].append(entry)
    return tuple(
        replace(
            item,
            sources=tuple(entry.source for entry in some),
            quantity=hours_of(sum(entry.minutes for entry in some)),
        )
        for item, some in groups.items()
        if hours_of(sum(entry.minutes for entry in some))
    )


def amount_of(item: Item, *, rules: Rules) -> Decimal:
    """What an item comes to, rounded once, as ``calc.totals`` rounds a line."""
    line = Line(quantity=item.quantity, unit_price=item.unit_price, discount=item.discount, tax=_ANY_TAX)
    return line_amount(line, rules=rules)


def sum_of(proposed: Iterable[Proposed], *, rules: Rules) -> Decimal:
    """The amounts together."""
    return sum((one.amount for one in proposed), from_minor(0, currency=rules.currency))


def taken_off(amount: Decimal, *, weights: Mapping[int, Decimal], words: str, rules: Rules) -> list[Item]:
    """Lines with a quantity of -1 that take an amount off, shared over the tax codes by their weights."""
    minor = to_minor(amount, currency=rules.currency)
    shares = allocate(minor, weights=list(weights.values()))
    return [
        _off_item(from_minor(share, currency=rules.currency), tax=tax, words=words)
        for tax, share in zip(weights, shares, strict=True)
        if share
    ]


def agreed_offs(lines: Sequence[Item], *, share: Decimal, rules: Rules) -> list[Decimal]:
    """What a discount on the whole of what was chosen takes off each agreed line, in coins.

    Rounded once for all of them and spread by tax code first, as the quote did, then over the lines of each
    code: whatever lines are billed together, all of them together are less by what was agreed.
    """
    amounts = [amount_of(line, rules=rules) for line in lines]
    whole = Fraction(sum(amounts)) * Fraction(share)
    off = round_money(whole, currency=rules.currency, rounding=rules.rounding)
    if not off:
        return [Decimal(0)] * len(lines)
    by_tax: dict[int, list[int]] = defaultdict(list)
    for place, line in enumerate(lines):
        by_tax[line.tax].append(place)
    sums = [sum((amounts[place] for place in places), Decimal(0)) for places in by_tax.values()]
    found: dict[int, Decimal] = {}
    shares = allocate(to_minor(off, currency=rules.currency), weights=sums)
    for places, part in zip(by_tax.values(), shares, strict=True):
        coins = allocate(part, weights=[amounts[place] for place in places])
        found |= {
            place: from_minor(one, currency=rules.currency) for place, one in zip(places, coins, strict=True)
        }
    return [found[place] for place in range(len(lines))]


def discount_by_tax(lines: Iterable[tuple[int, Line]], *, share: Decimal, rules: Rules) -> dict[int, int]:
    """A discount on a whole bill, rounded once, by tax code in minor units; none where nothing is to pay."""
    sums: dict[int, Decimal] = defaultdict(Decimal)
    for tax, line in lines:
        sums[tax] += line_amount(line, rules=rules)
    whole = sum(sums.values(), Decimal(0))
    if not share or whole <= 0:
        return {}
    off = round_money(Fraction(whole) * Fraction(share), currency=rules.currency, rounding=rules.rounding)
    weights = [max(one, Decimal(0)) for one in sums.values()]
    parts = allocate(to_minor(off, currency=rules.currency), weights=weights)
    return {tax: part for tax, part in zip(sums, parts, strict=True) if part}


def weights_by_tax(proposed: Iterable[Proposed]) -> dict[int, Decimal]:
    """Tax code → the sum of its amounts, those below nil left out; in the order of the lines."""
    sums: dict[int, Decimal] = defaultdict(Decimal)
    for one in proposed:
        sums[one.item.tax] += one.amount
    return {tax: max(amount, Decimal(0)) for tax, amount in sums.items()}


def most_billable(authorised: Decimal, *, share_over: Decimal, rules: Rules) -> Decimal:
    """How much may be billed without asking again: what was agreed and the share that local rules allow.

    Cut to the coin, never rounded up.
    """
    if not 0 <= require_decimal(share_over, field="share over what was agreed") <= 1:
        raise BadInput("share over what was agreed", share_over, "a share from 0 to 1, such as 0.1 for 10 %")
    over = Fraction(require_decimal(authorised, field="agreed")) * Fraction(share_over)
    coin = from_minor(1, currency=rules.currency)
    return authorised + quantize(over, exponent=coin, mode="down")


def _proposed(items: Iterable[Item], *, origin: Origin, rules: Rules) -> tuple[Proposed, ...]:
    return tuple(Proposed(origin=origin, item=item, amount=amount_of(item, rules=rules)) for item in items)


def _planned_lines(job: JobBooks, *, rules: Rules) -> tuple[Proposed, ...]:
    """The agreed lines, less what the quote's discount takes off each, one line for each tax code.

    Where a line was made cheaper by hand, no more is taken off a tax code than its lines come to.
    """
    rows = _proposed(job.planned, origin=Origin.PLAN, rules=rules)
    offs: dict[int, Decimal] = defaultdict(Decimal)
    for item in job.planned:
        offs[item.tax] += item.off
    most = weights_by_tax(rows)
    offs = {tax: min(off, most[tax]) for tax, off in offs.items()}
    return (*rows, *_off_lines(offs, words=job.off_words, rules=rules))


def _logged_lines(job: JobBooks, *, rules: Rules) -> tuple[Proposed, ...]:
    """The logged rows, less the discount of the quote they were planned in, up to the agreed minimum."""
    rows = _proposed(job.logged, origin=Origin.ACTUAL, rules=rules)
    exact: dict[int, Fraction] = defaultdict(Fraction)
    for one in rows:
        exact[one.item.tax] += Fraction(one.amount) * Fraction(one.item.off_share)
    offs = {
        tax: round_money(off, currency=rules.currency, rounding=rules.rounding) for tax, off in exact.items()
    }
    rows = (*rows, *_off_lines(offs, words=job.off_words, rules=rules))
    missing = job.agreed - job.billed - sum_of(rows, rules=rules)
    if job.minimum is None or missing <= 0:
        return rows
    topped = replace(job.minimum, quantity=ONE, unit_price=missing, discount=Decimal(0))
    return (*rows, *_proposed([topped], origin=Origin.PLAN, rules=rules))


def _off_lines(offs: Mapping[int, Decimal], *, words: str, rules: Rules) -> tuple[Proposed, ...]:
    items = [_off_item(off, tax=tax, words=words) for tax, off in offs.items() if off]
    return _proposed(items, origin=Origin.DISCOUNT, rules=rules)


def _off_item(amount: Decimal, *, tax: int, words: str) -> Item:
    return Item(
        sources=(), kind="fee", description=words, quantity=-ONE, unit="each", unit_price=amount, tax=tax
    )


def _under_ceiling(rows: tuple[Proposed, ...], *, job: JobBooks, rules: Rules) -> tuple[Proposed, ...]:
    """The rows and what takes off whatever is above the agreed amount; nothing where all of it is billed."""
    left = max(job.agreed - job.billed, Decimal(0))
    above = sum_of(rows, rules=rules) - left
    if above <= 0:
        return rows
    if left == 0:
        return ()
    cut = taken_off(above, weights=weights_by_tax(rows), words=job.above_words, rules=rules)
    return (*rows, *_proposed(cut, origin=Origin.CEILING, rules=rules))
