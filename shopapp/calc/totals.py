"""What a document comes to: the one sum that quotes, approvals, invoices, credit notes and reports share.

Source: the semantic model of EN 16931 (BT-106 to BT-117 and its business rules BR-CO-10 to BR-CO-17).
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from shopapp.calc.errors import BadInput
from shopapp.calc.money import (
    PRICE_DECIMALS,
    QUANTITY_DECIMALS,
    Rounding,
    allocate,
    from_minor,
    minor_digits,
    require_coins,
    require_decimal,
    round_money,
    settle,
    smallest_coin,
    to_minor,
)
from shopapp.calc.tax import (
    CATEGORIES,
    TaxComponent,
    TaxLevel,
    TaxTreatment,
    component_tax,
    exact_tax_within,
    round_cash,
    tax_on,
)

# One row of the tax breakdown: category, name of the component, rate.
type RowKey = tuple[str, str, Decimal]
# Lines are taxed alike when they share category and components, whatever their tax code is called.
type Likeness = tuple[str, tuple[TaxComponent, ...]]


@dataclass(frozen=True, kw_only=True)
class Rules:
    """How the shop rounds and taxes. `cash_step` (0.05) is set only when the document is paid in coins.

    Tax is rounded once per row (category, component, rate) over all lines and adjustments of the document,
    or with TaxLevel.LINE on each line and adjustment by itself, the rows being the sums.

    - Prices without tax: tax of a row = round(taxable x rate). The taxable amount of a compounding component
      is the net amount plus the rounded taxes of the components before it, taken over all amounts that have
      the same components before it.
    - Prices with tax: with_tax is the sum of what was entered. The tax of a row is the exact tax contained in
      all its amounts, rounded once; without_tax is the rest. The rounded tax is spread by largest remainder
      over the amounts taxed alike, so that their nets add up to without_tax as well.
    """

    currency: str
    rounding: Rounding
    tax_level: TaxLevel
    prices_include_tax: bool = False
    cash_step: Decimal | None = None

    def __post_init__(self) -> None:
        minor_digits(self.currency)
        if self.cash_step is None:
            return
        if require_coins(self.cash_step, currency=self.currency, field="smallest coin") <= 0:
            raise BadInput("smallest coin", self.cash_step, "an amount above 0, such as 0.05")


@dataclass(frozen=True, kw_only=True)
class LineAdjustment:
    """An allowance or a charge in whole coins inside one line; it needs a reason (BR-CO-23, BR-CO-24)."""

    amount: Decimal
    reason: str
    is_charge: bool = False

    def __post_init__(self) -> None:
        require_decimal(self.amount, field="amount")
        _require_reason(self.reason)


@dataclass(frozen=True, kw_only=True)
class Line:
    """One priced line. Quantity: three decimals, negative in corrections. Price: four decimals, 0 or more
    (BR-27), for `base_quantity` units. Discount: a share from 0 to 1 of quantity x price.
    """

    quantity: Decimal
    unit_price: Decimal
    tax: TaxTreatment
    discount: Decimal = Decimal(0)
    base_quantity: Decimal = Decimal(1)
    adjustments: tuple[LineAdjustment, ...] = ()

    def __post_init__(self) -> None:
        require_decimal(self.quantity, field="quantity", decimals=QUANTITY_DECIMALS)
        require_decimal(self.unit_price, field="unit price", decimals=PRICE_DECIMALS)
        require_decimal(self.discount, field="discount")
        require_decimal(self.base_quantity, field="base quantity")
        if self.unit_price < 0:
            raise BadInput("unit price", self.unit_price, "0 or more; a correction has a negative quantity")
        if not 0 <= self.discount <= 1:
            raise BadInput("discount", self.discount, "a share from 0 to 1, such as 0.1 for 10 %")
        if self.base_quantity <= 0:
            raise BadInput("base quantity", self.base_quantity, "a number above 0")


@dataclass(frozen=True, kw_only=True)
class Adjustment:
    """An allowance or a charge on the whole document, in whole coins, with its reason and its own tax."""

    amount: Decimal
    reason: str
    tax: TaxTreatment

    def __post_init__(self) -> None:
        require_decimal(self.amount, field="amount")
        _require_reason(self.reason)


@dataclass(frozen=True, kw_only=True)
class TaxRow:
    """One row of the tax breakdown: taxable amount (BT-116) and tax (BT-117) of one component and rate."""

    category: str
    component_name: str
    rate: Decimal
    taxable: Decimal
    tax: Decimal
    exemption_reason: str = ""


@dataclass(frozen=True, kw_only=True)
class Totals:
    """The sums of a document, every one in whole coins.

    Without tax in prices: without_tax = sum_of_lines - allowances + charges (BR-CO-13). With tax in prices
    line_amounts, sum_of_lines, allowances and charges are with tax, as they were entered, and their sum is
    with_tax. Always: with_tax = without_tax + tax (BR-CO-15), tax = sum of the rows (BR-CO-14),
    due = with_tax - paid + rounding (BR-CO-16).
    """

    line_amounts: tuple[Decimal, ...]
    sum_of_lines: Decimal
    allowances: Decimal
    charges: Decimal
    without_tax: Decimal
    tax_rows: tuple[TaxRow, ...]
    tax: Decimal
    with_tax: Decimal
    paid: Decimal
    rounding: Decimal
    due: Decimal


def line_amount(line: Line, *, rules: Rules) -> Decimal:
    """round(quantity x unit price / base quantity x (1 - discount)), then whole-coin charges and allowances.

    The one rounding of a line. With tax or without, as its price is.
    """
    price = Fraction(line.unit_price) / Fraction(line.base_quantity)
    exact = Fraction(line.quantity) * price * (1 - Fraction(line.discount))
    rounded = round_money(exact, currency=rules.currency, rounding=rules.rounding)
    return rounded + sum((_signed(one, rules=rules) for one in line.adjustments), Decimal(0))


def document_totals(
    lines: Sequence[Line],
    *,
    rules: Rules,
    allowances: Sequence[Adjustment] = (),
    charges: Sequence[Adjustment] = (),
    paid: Decimal = Decimal(0),
) -> Totals:
    """Totals of exactly these lines under these rules; a set of options is totalled anew, never added up.

    No lines give nil totals without tax rows: a quote that is still being built.

    Refused: adjustments and payments that are not whole coins. `paid` may exceed the total; then `due` is
    negative. Cash rounding is the last step, on what is still owed.
    """
    line_amounts = tuple(line_amount(line, rules=rules) for line in lines)
    sum_of_lines = _sum(line_amounts, rules=rules)
    allowed = _sum((_coins(one, rules=rules) for one in allowances), rules=rules)
    charged = _sum((_coins(one, rules=rules) for one in charges), rules=rules)
    entered = sum_of_lines - allowed + charged
    on_lines = [_Taxed(amount=amount, tax=line.tax) for line, amount in zip(lines, line_amounts, strict=True)]
    rows = _tax_rows([*on_lines, *_adjusted(allowances, charges=charges)], rules=rules)
    tax = _sum((row.tax for row in rows), rules=rules)
    without_tax = entered - tax if rules.prices_include_tax else entered
    paid_coins = require_coins(paid, currency=rules.currency, field="paid")
    owed = without_tax + tax - paid_coins
    rounding = _cash_rounding(owed, rules=rules)
    return Totals(
        line_amounts=line_amounts,
        sum_of_lines=sum_of_lines,
        allowances=allowed,
        charges=charged,
        without_tax=without_tax,
        tax_rows=rows,
        tax=tax,
        with_tax=without_tax + tax,
        paid=paid_coins,
        rounding=rounding,
        due=owed + rounding,
    )


def share_off(lines: Sequence[Line], *, share: Decimal, reason: str, rules: Rules) -> tuple[Adjustment, ...]:
    """Allowances that take a share (0 to 1) off the whole of these lines: one for each way they are taxed.

    The amount is rounded once for the document (BT-92) and spread over the treatments by `allocate`, so the
    parts always sum to it and none is more than its lines come to. Lines below nil are refused.
    """
    if not share or not lines:
        return ()
    sums: dict[TaxTreatment, Decimal] = {}
    for line in lines:
        sums[line.tax] = sums.get(line.tax, Decimal(0)) + line_amount(line, rules=rules)
    whole = Fraction(sum(sums.values())) * Fraction(share)
    off = round_money(whole, currency=rules.currency, rounding=rules.rounding)
    parts = allocate(to_minor(off, currency=rules.currency), weights=list(sums.values()))
    amounts = [from_minor(part, currency=rules.currency) for part in parts]
    return tuple(
        Adjustment(amount=amount, reason=reason, tax=tax)
        for tax, amount in zip(sums, amounts, strict=True)
        if amount
    )


@dataclass(frozen=True, kw_only=True)
class _Taxed:
    """An amount, signed as it enters the total, and how it is taxed."""

    amount: Decimal
    tax: TaxTreatment

    @property
    def likeness(self) -> Likeness:
        return self.tax.category, self.tax.taken

    @property
    def keys(self) -> list[RowKey]:
        return _keys(self.likeness)


@dataclass(frozen=True, kw_only=True)
class _Taken:
    """What one row takes: base and tax in whole coins."""

    taxable: Decimal = Decimal(0)
    tax: Decimal = Decimal(0)

    def __add__(self, other: "_Taken") -> "_Taken":
        return _Taken(taxable=self.taxable + other.taxable, tax=self.tax + other.tax)


def _require_reason(reason: str) -> None:
    if not reason.strip():
        raise BadInput("reason", reason, "the reason for this allowance or charge")


def _signed(one: LineAdjustment, *, rules: Rules) -> Decimal:
    coins = _coins(one, rules=rules)
    return coins if one.is_charge else -coins


def _coins(one: LineAdjustment | Adjustment, *, rules: Rules) -> Decimal:
    return require_coins(one.amount, currency=rules.currency, field=one.reason)


def _adjusted(allowances: Iterable[Adjustment], *, charges: Iterable[Adjustment]) -> Iterator[_Taxed]:
    yield from (_Taxed(amount=-one.amount, tax=one.tax) for one in allowances)
    yield from (_Taxed(amount=one.amount, tax=one.tax) for one in charges)


def _sum(amounts: Iterable[Decimal], *, rules: Rules) -> Decimal:
    return sum(amounts, from_minor(0, currency=rules.currency))


def _cash_rounding(owed: Decimal, *, rules: Rules) -> Decimal:
    if rules.cash_step is None:
        return from_minor(0, currency=rules.currency)
    return require_coins(round_cash(owed, step=rules.cash_step) - owed, currency=rules.currency, field="due")


def _tax_rows(taxed: Sequence[_Taxed], *, rules: Rules) -> tuple[TaxRow, ...]:
    """The breakdown, in an order that does not depend on the order of the lines."""
    batches = [[one] for one in taxed] if rules.tax_level == TaxLevel.LINE else [taxed]
    take = _taken_within if rules.prices_include_tax else _taken_on_top
    rows: dict[RowKey, _Taken] = defaultdict(_Taken)
    for batch in batches:
        for key, taken in take(_alike(batch, rules=rules), rules=rules).items():
            rows[key] += taken
    places, reasons = _places(taxed), _reasons(taxed)
    in_order = sorted(rows, key=lambda key: (list(CATEGORIES).index(key[0]), places[key], key))
    return tuple(_tax_row(key, taken=rows[key], reasons=reasons[key]) for key in in_order)


def _tax_row(key: RowKey, *, taken: _Taken, reasons: set[str]) -> TaxRow:
    category, name, rate = key
    return TaxRow(
        category=category,
        component_name=name,
        rate=rate,
        taxable=taken.taxable,
        tax=taken.tax,
        exemption_reason="; ".join(sorted(reasons)),
    )


def _keys(likeness: Likeness) -> list[RowKey]:
    category, components = likeness
    return [(category, component.name, component.rate) for component in components]


def _places(taxed: Iterable[_Taxed]) -> Mapping[RowKey, int]:
    """The first place of each row's component among its fellows, so that the federal tax stays on top."""
    places: dict[RowKey, int] = {}
    for one in taxed:
        for place, key in enumerate(one.keys):
            places[key] = min(place, places.get(key, place))
    return places


def _reasons(taxed: Iterable[_Taxed]) -> Mapping[RowKey, set[str]]:
    """The exemption reasons of each row; several different ones are all kept."""
    reasons: dict[RowKey, set[str]] = defaultdict(set)
    for one in taxed:
        for key in one.keys:
            reasons[key].add(one.tax.exemption_reason.strip())
    return reasons


def _alike(taxed: Iterable[_Taxed], *, rules: Rules) -> dict[Likeness, Decimal]:
    """The sum of the amounts that are taxed alike, in a fixed order."""
    sums: dict[Likeness, Decimal] = defaultdict(lambda: from_minor(0, currency=rules.currency))
    for one in taxed:
        sums[one.likeness] += one.amount
    return dict(sorted(sums.items(), key=lambda entry: _fixed_order(entry[0])))


def _fixed_order(likeness: Likeness) -> tuple[str, list[tuple[str, Decimal, bool]]]:
    category, components = likeness
    return category, [(one.name, one.rate, one.compounds) for one in components]


def _taken_on_top(alike: Mapping[Likeness, Decimal], *, rules: Rules) -> dict[RowKey, _Taken]:
    """Prices without tax: each row's tax is rounded once from its taxable amount."""
    bases: dict[RowKey, dict[tuple[TaxComponent, ...], Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for likeness, amount in alike.items():
        components = likeness[1]
        for place, key in enumerate(_keys(likeness)):
            before = components[:place] if components[place].compounds else ()
            bases[key][before] += amount
    return {key: _taken_from(parts, rate=key[2], rules=rules) for key, parts in bases.items()}


def _taken_from(parts: Mapping[tuple[TaxComponent, ...], Decimal], *, rate: Decimal, rules: Rules) -> _Taken:
    taxable = Decimal(0)
    for before, amount in parts.items():
        earlier = tax_on(amount, components=before, currency=rules.currency, rounding=rules.rounding)
        taxable += amount + sum((one.tax for one in earlier), Decimal(0))
    tax = component_tax(taxable, rate=rate, currency=rules.currency, rounding=rules.rounding)
    return _Taken(taxable=taxable, tax=tax)


def _taken_within(alike: Mapping[Likeness, Decimal], *, rules: Rules) -> dict[RowKey, _Taken]:
    """Prices with tax: each row's tax is rounded once, then spread over the amounts that hold it."""
    exact: dict[RowKey, dict[Likeness, Fraction]] = defaultdict(dict)
    for likeness, gross in alike.items():
        contained = exact_tax_within(gross, components=likeness[1])
        for key, tax in zip(_keys(likeness), contained, strict=True):
            exact[key][likeness] = tax
    spread = {key: _spread(parts, rules=rules) for key, parts in exact.items()}
    rows: dict[RowKey, _Taken] = defaultdict(_Taken)
    for likeness, gross in alike.items():
        taxes = [spread[key][likeness] for key in _keys(likeness)]
        net = gross - sum(taxes, Decimal(0))
        for place, key in enumerate(_keys(likeness)):
            before = sum(taxes[:place], Decimal(0)) if likeness[1][place].compounds else Decimal(0)
            rows[key] += _Taken(taxable=net + before, tax=taxes[place])
    return rows


def _spread(parts: Mapping[Likeness, Fraction], *, rules: Rules) -> dict[Likeness, Decimal]:
    """The rounded sum of the exact parts, given back to them in whole coins."""
    currency = rules.currency
    total = round_money(sum(parts.values(), Fraction(0)), currency=currency, rounding=rules.rounding)
    coin = Fraction(smallest_coin(currency))
    coins = settle(to_minor(total, currency=currency), exact=[part / coin for part in parts.values()])
    return {likeness: from_minor(one, currency=currency) for likeness, one in zip(parts, coins, strict=True)}
