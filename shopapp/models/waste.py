"""The used-oil log: labelled containers, what went into them, and what a collector took away.

A container holds one kind of waste. Its level is nowhere stored: it is the sum of the standing rows.
"""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.actuals import FluidCondition
from shopapp.models.struck import Struck, struck_constraint


class WasteKind(models.TextChoices):
    """What a container holds; the values are those of ``calc.waste``."""

    USED_OIL = "used_oil", _("used oil")
    OILY_WATER = "oily_water", _("oily water")
    OILY_FUEL = "oily_fuel", _("fuel, also mixed with oil")
    COOLANT = "coolant", _("coolant")
    SOLVENT = "solvent", _("solvent")
    OTHER = "other", _("something else")


class WasteContainer(models.Model):
    """A container as it stands in the shop, from when it is begun until it is put away."""

    name = models.CharField(max_length=60)
    kind = models.CharField(max_length=10, choices=WasteKind)
    size_ml = models.PositiveIntegerField()
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["name"],
                condition=models.Q(ended_at__isnull=True),
                name="wastecontainer_one_a_name",
            ),
            models.CheckConstraint(
                condition=~models.Q(name="") & models.Q(kind__in=WasteKind.values, size_ml__gt=0),
                name="wastecontainer_says_what_and_how_much",
            ),
            models.CheckConstraint(
                condition=models.Q(ended_at__isnull=True, ended_by__isnull=True)
                | models.Q(ended_at__isnull=False, ended_by__isnull=False),
                name="wastecontainer_ended_says_by_whom",
            ),
        ]

    def __str__(self) -> str:
        return f"container {self.pk}"


class WasteRow(Struck):
    """What a pour and a hand-over share."""

    container = models.ForeignKey(WasteContainer, on_delete=models.PROTECT, related_name="%(class)ss")
    volume_ml = models.PositiveIntegerField()
    logged_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()

    class Meta:
        abstract = True


def waste_constraints(table: str) -> list[models.BaseConstraint]:
    """What the database itself refuses in a row of the log, named for its table."""
    return [
        models.CheckConstraint(condition=models.Q(volume_ml__gt=0), name=f"{table}_some"),
        struck_constraint(table),
    ]


class WastePour(WasteRow):
    """What went into a container: what a fluid entry drained, or something told by hand.

    With a fluid entry it counts only as long as that entry stands.
    """

    fluid_entry = models.OneToOneField(
        "shopapp.FluidEntry", on_delete=models.PROTECT, related_name="pour", null=True, blank=True
    )
    condition = models.CharField(
        max_length=12, choices=FluidCondition, default=FluidCondition.NOT_DRAINED, blank=True
    )
    # what it was, where no fluid entry says so
    what = models.CharField(max_length=120, blank=True)

    class Meta:
        constraints = [
            *waste_constraints("wastepour"),
            models.CheckConstraint(
                condition=models.Q(fluid_entry__isnull=False) | ~models.Q(what=""),
                name="wastepour_says_what",
            ),
        ]

    def __str__(self) -> str:
        return f"pour {self.pk} into {self.container}"


class WasteHandOver(WasteRow):
    """What a collector took away, with the number of the paper that says so."""

    collector = models.CharField(max_length=120)
    paper_number = models.CharField(max_length=60, blank=True)

    class Meta:
        constraints = [
            *waste_constraints("wastehandover"),
            models.CheckConstraint(condition=~models.Q(collector=""), name="wastehandover_says_to_whom"),
        ]

    def __str__(self) -> str:
        return f"hand-over {self.pk} from {self.container}"
