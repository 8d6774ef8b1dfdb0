"""The priced line that plan and bill share: one kind, one quantity, one price, one tax class, one payer.

Money columns are whole numbers (SQLite would keep decimals as binary floats): unit prices and costs in
1/10,000 (``…_e4``), quantities in 1/1,000 (``…_milli``), shares in 1/10,000 (``…_e4``).
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.calc.money import from_e4, from_milli
from shopapp.calc.tax import TaxTreatment
from shopapp.calc.totals import Line

if TYPE_CHECKING:
    from shopapp.models.shop import TaxCode


class LineKind(models.TextChoices):
    """The five kinds of line, the same in plan, actual and bill."""

    PART = "part", _("Part")
    LABOUR = "labour", _("Labour")
    FLUID = "fluid", _("Fluid")
    SUBLET = "sublet", _("Work bought in")
    FEE = "fee", _("Fee")


class Payer(models.TextChoices):
    """Who pays for a line."""

    CUSTOMER = "customer", _("Customer")
    SHOP = "shop", _("Shop (goodwill)")
    MAKER = "maker", _("Maker's warranty")


class PartCondition(models.TextChoices):
    """What a part is; anything but a new part of the shop's own is named as such on paper."""

    NEW = "new", _("new")
    USED = "used", _("used")
    REBUILT = "rebuilt", _("rebuilt")
    CUSTOMERS_OWN = "own", _("customer's own part")


class Unit(models.TextChoices):
    """Units a line may be sold in."""

    EACH = "each", _("each")
    HOUR = "h", _("h")
    LITRE = "L", _("L")
    MILLILITRE = "ml", _("ml")
    METRE = "m", _("m")
    SET = "set", _("set")
    DAY = "day", _("day")
    KILOMETRE = "km", _("km")


class PricedLine(models.Model):
    """What plan lines and invoice lines have in common."""

    kind = models.CharField(max_length=10, choices=LineKind)
    number = models.CharField(max_length=40, blank=True)
    description = models.CharField(max_length=200)
    quantity_milli = models.BigIntegerField()
    unit = models.CharField(max_length=6, choices=Unit)
    unit_price_e4 = models.BigIntegerField()
    discount_e4 = models.PositiveIntegerField(default=0)
    tax_code: "models.ForeignKey[TaxCode, TaxCode]" = models.ForeignKey(
        "shopapp.TaxCode", on_delete=models.PROTECT, related_name="+"
    )
    payer = models.CharField(max_length=10, choices=Payer, default=Payer.CUSTOMER)
    condition = models.CharField(max_length=8, choices=PartCondition, default=PartCondition.NEW)
    position = models.PositiveIntegerField()

    class Meta:
        abstract = True

    def as_line(self, treatments: Mapping[int, TaxTreatment]) -> Line:
        """The line for ``calc.totals``; ``treatments`` maps the tax code's id to the rates in force."""
        return Line(
            quantity=from_milli(self.quantity_milli),
            unit_price=from_e4(self.unit_price_e4),
            discount=Decimal(self.discount_e4) / 10_000,
            tax=treatments[self.tax_code_id],
        )


def line_constraints(table: str) -> list[models.BaseConstraint]:
    """What the database itself refuses in a priced line, named for its table."""
    return [
        models.CheckConstraint(condition=models.Q(unit_price_e4__gte=0), name=f"{table}_price_not_negative"),
        models.CheckConstraint(
            condition=models.Q(discount_e4__lte=10_000), name=f"{table}_discount_at_most_whole"
        ),
        models.CheckConstraint(condition=models.Q(kind__in=LineKind.values), name=f"{table}_kind_known"),
        models.CheckConstraint(condition=models.Q(payer__in=Payer.values), name=f"{table}_payer_known"),
        models.CheckConstraint(
            condition=models.Q(condition__in=PartCondition.values), name=f"{table}_condition_known"
        ),
    ]
