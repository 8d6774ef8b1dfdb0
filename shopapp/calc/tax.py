"""Tax codes with dated components, tax on a base or within a price, and cash rounding.

Categories are those of UNCL5305 as EN 16931 uses them. Rates are shares: 0.09975 is 9.975 %.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from shopapp.calc.errors import BadInput
from shopapp.calc.money import Rounding, quantize, require_decimal, round_money

CATEGORIES = {"S": "taxed", "Z": "zero rated", "E": "exempt", "O": "outside the scope of tax"}
# EN 16931 BR-E-10 and BR-O-10: these rows carry a reason; BR-S-10 and BR-Z-10: the others carry none.
NEEDS_REASON = ("E", "O")


class TaxLevel(StrEnum):
    """Where tax is rounded: once a component and rate for the whole document, or on every line."""

    BREAKDOWN = "breakdown"
    LINE = "line"


@dataclass(frozen=True, kw_only=True)
class TaxComponent:
    """One tax, say the provincial one. `compounds`: taken on the price plus the components before it."""

    name: str
    rate: Decimal
    compounds: bool = False

    def __post_init__(self) -> None:
        require_decimal(self.rate, field="tax rate")
        if not 0 <= self.rate <= 1:
            raise BadInput("tax rate", self.rate, "a share from 0 to 1, such as 0.05 for 5 %")


NO_TAX = TaxComponent(name="", rate=Decimal(0))


@dataclass(frozen=True, kw_only=True)
class TaxTreatment:
    """How a line is taxed: category S, Z, E or O, and the components in the order they are taken.

    Refused (EN 16931 BR-S-05, BR-Z-05, BR-E-05, BR-O-05 and -10): S without a rate above nil; Z, E, O with
    one; E and O without a reason; S and Z with one; two components of one name.
    """

    code: str
    category: str
    components: tuple[TaxComponent, ...] = ()
    exemption_reason: str = ""

    def __post_init__(self) -> None:
        if self.category not in CATEGORIES:
            accepted = ", ".join(f"{letter} ({meaning})" for letter, meaning in CATEGORIES.items())
            raise BadInput("tax category", self.category, f"one of {accepted}")
        self._check_rates()
        self._check_reason()

    def _check_rates(self) -> None:
        names = [component.name for component in self.components]
        if len(set(names)) < len(names):
            raise BadInput(f"tax code {self.code}", ", ".join(names), "each tax once")
        is_taxed = any(component.rate > 0 for component in self.components)
        if is_taxed and self.category != "S":
            raise BadInput(f"tax code {self.code}", self.category, "category S where a rate is above 0")
        if self.category == "S" and not is_taxed:
            raise BadInput(f"tax code {self.code}", "S", "a rate above 0, or category Z, E or O")

    def _check_reason(self) -> None:
        needs_reason = self.category in NEEDS_REASON
        if needs_reason and not self.exemption_reason.strip():
            raise BadInput("exemption reason", self.exemption_reason, "the reason why no tax is taken")
        if self.exemption_reason and not needs_reason:
            raise BadInput("exemption reason", self.exemption_reason, "a reason with category E or O only")

    @property
    def taken(self) -> tuple[TaxComponent, ...]:
        """The components, or the nil one where there are none, so that every treatment has a tax row."""
        return self.components or (NO_TAX,)


@dataclass(frozen=True, kw_only=True)
class DatedComponent:
    """A component in force from `valid_from` up to, not on, `valid_until` (None: until further notice)."""

    component: TaxComponent
    valid_from: date
    valid_until: date | None = None

    def __post_init__(self) -> None:
        if self.valid_until is not None and self.valid_until <= self.valid_from:
            raise BadInput("valid until", self.valid_until, f"a day after {self.valid_from}")

    def is_in_force(self, on: date) -> bool:
        """Whether the component is taken on that day."""
        return self.valid_from <= on and (self.valid_until is None or on < self.valid_until)


def treatment_at(
    dated: Sequence[DatedComponent], *, on: date, code: str, category: str, exemption_reason: str = ""
) -> TaxTreatment:
    """The treatment made of the components in force on that day, in the order given.

    Refused: a day on which a taxed code has no component in force, and two of one name on the same day.
    """
    in_force = tuple(one.component for one in dated if one.is_in_force(on))
    if category == "S" and not in_force:
        raise BadInput(f"tax code {code}", on, "a day on which one of its rates is in force")
    return TaxTreatment(code=code, category=category, components=in_force, exemption_reason=exemption_reason)


@dataclass(frozen=True, kw_only=True)
class ComponentTax:
    """What one component takes: its base and the tax, both in whole coins."""

    component: TaxComponent
    taxable: Decimal
    tax: Decimal


def tax_on(
    base: Decimal, *, components: Sequence[TaxComponent], currency: str, rounding: Rounding
) -> tuple[ComponentTax, ...]:
    """Tax on a base without tax, component by component, each rounded once (here).

    A compounding component is taken on the base plus the rounded taxes before it, because that is what the
    customer pays for. Splitting one rate in two may move the sum by a coin; both ways are allowed (CRA
    interpretation 125136 under Excise Tax Act s. 165.2): list one component, or two.
    """
    taken: list[ComponentTax] = []
    for component in components:
        before = sum((one.tax for one in taken), Decimal(0))
        taxable = base + before if component.compounds else base
        tax = component_tax(taxable, rate=component.rate, currency=currency, rounding=rounding)
        taken.append(ComponentTax(component=component, taxable=taxable, tax=tax))
    return tuple(taken)


def component_tax(taxable: Decimal, *, rate: Decimal, currency: str, rounding: Rounding) -> Decimal:
    """Taxable amount x rate, rounded once to the coin (EN 16931 BR-CO-17)."""
    exact = Fraction(require_decimal(taxable, field="taxable amount")) * Fraction(rate)
    return round_money(exact, currency=currency, rounding=rounding)


def exact_tax_within(gross: Decimal, *, components: Sequence[TaxComponent]) -> tuple[Fraction, ...]:
    """The tax of each component inside a price that includes tax, exact and not rounded.

    With f the tax on 1.00 of net, the net is gross / (1 + sum of f) and each tax is net x f.
    """
    per_unit = exact_tax_per_unit(components)
    net = Fraction(require_decimal(gross, field="price with tax")) / (1 + sum(per_unit))
    return tuple(net * share for share in per_unit)


def exact_tax_per_unit(components: Sequence[TaxComponent]) -> tuple[Fraction, ...]:
    """What each component takes on a net amount of 1, exact; compounding ones take on those before too."""
    taken: list[Fraction] = []
    for component in components:
        before = sum(taken, Fraction(0)) if component.compounds else Fraction(0)
        taken.append((1 + before) * Fraction(component.rate))
    return tuple(taken)


def round_cash(amount: Decimal, *, step: Decimal) -> Decimal:
    """The amount to the nearest multiple of the smallest coin in use (0.05), a half going away from nil.

    Source: Department of Finance Canada, rounding guideline of 2013 (from memory); a half cannot occur there.
    """
    if require_decimal(step, field="smallest coin") <= 0:
        raise BadInput("smallest coin", step, "an amount above 0, such as 0.05")
    exact = Fraction(require_decimal(amount, field="amount")) / Fraction(step)
    return quantize(exact, exponent=Decimal(1), mode=Rounding.HALF_UP.value) * step
