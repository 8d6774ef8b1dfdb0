"""What really happened on a job: parts used, time, fluids. Each row keeps its cost, and the sell price
and the rule that gave it, frozen by the server when it was logged."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.lines import PartCondition, Payer, Unit
from shopapp.models.shop import FeeKind
from shopapp.models.struck import Struck, struck_constraint


class ActualRow(Struck):
    """What the actual rows share."""

    job = models.ForeignKey("shopapp.Job", on_delete=models.PROTECT, related_name="%(class)ss")
    plan_line = models.ForeignKey(
        "shopapp.QuoteLine", on_delete=models.PROTECT, related_name="%(class)ss", null=True, blank=True
    )
    # unknown at the bench for extra work: the desk prices it later
    unit_cost_e4 = models.BigIntegerField(null=True, blank=True)
    unit_price_e4 = models.BigIntegerField(null=True, blank=True)
    price_rule = models.CharField(max_length=200, blank=True)
    payer = models.CharField(max_length=10, choices=Payer, default=Payer.CUSTOMER)
    payer_reason = models.CharField(max_length=200, blank=True)
    # the owner bills it although nobody agreed to it beforehand
    override_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    override_reason = models.CharField(max_length=200, blank=True)
    logged_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()

    class Meta:
        abstract = True


def actual_constraints(table: str) -> list[models.BaseConstraint]:
    """What the database itself refuses in a row of the actual book, named for its table."""
    return [
        models.CheckConstraint(condition=models.Q(payer__in=Payer.values), name=f"{table}_payer_known"),
        models.CheckConstraint(
            condition=models.Q(override_by__isnull=True) | ~models.Q(override_reason=""),
            name=f"{table}_override_has_a_reason",
        ),
        struck_constraint(table),
    ]


class PartUsed(ActualRow):
    """A part that went into the boat."""

    part = models.ForeignKey(
        "shopapp.Part", on_delete=models.PROTECT, related_name="uses", null=True, blank=True
    )
    number = models.CharField(max_length=40, blank=True)
    description = models.CharField(max_length=200)
    quantity_milli = models.BigIntegerField()
    unit = models.CharField(max_length=6, choices=Unit, default=Unit.EACH)
    condition = models.CharField(max_length=8, choices=PartCondition, default=PartCondition.NEW)

    class Meta:
        constraints = [
            *actual_constraints("partused"),
            models.CheckConstraint(condition=models.Q(quantity_milli__gt=0), name="partused_some"),
        ]

    def __str__(self) -> str:
        return f"part {self.pk} on {self.job}"


class TimeKind(models.TextChoices):
    """What the time went into."""

    DIAGNOSIS = "diagnosis", _("Diagnosis")
    REPAIR = "repair", _("Repair")
    REWORK = "rework", _("Rework")
    TEST = "test", _("Test")
    TRAVEL = "travel", _("Travel")


class TimeEntry(ActualRow):
    """Minutes of a person on a job; unit cost and price are for one hour."""

    person = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="time_entries")
    kind = models.CharField(max_length=10, choices=TimeKind, default=TimeKind.REPAIR)
    minutes = models.PositiveIntegerField()

    class Meta:
        constraints = [
            *actual_constraints("timeentry"),
            models.CheckConstraint(
                condition=models.Q(minutes__gt=0) & models.Q(minutes__lte=1440), name="timeentry_within_a_day"
            ),
        ]

    def __str__(self) -> str:
        return f"time {self.pk} on {self.job}"


class FluidCondition(models.TextChoices):
    """What came out of the drain."""

    NOT_DRAINED = "not_drained", _("nothing drained")
    CLEAN = "clean", _("clean")
    MILKY = "milky", _("milky (water)")
    METAL = "metal", _("metal in it")
    FUEL = "fuel", _("fuel in it")


class FluidEntry(ActualRow):
    """A fluid drained from and filled into one point; unit cost and price are for one litre."""

    point = models.CharField(max_length=60)
    product = models.CharField(max_length=120)
    drained_ml = models.PositiveIntegerField(default=0)
    filled_ml = models.PositiveIntegerField(default=0)
    condition = models.CharField(max_length=12, choices=FluidCondition, default=FluidCondition.NOT_DRAINED)

    class Meta:
        constraints = [
            *actual_constraints("fluidentry"),
            models.CheckConstraint(
                condition=models.Q(drained_ml__gt=0) | models.Q(filled_ml__gt=0), name="fluidentry_some"
            ),
        ]

    def __str__(self) -> str:
        return f"fluid {self.pk} on {self.job}"


class SubletEntry(ActualRow):
    """Work bought in from another shop; its bill is the cost, and somebody waits for it until a day."""

    supplier = models.CharField(max_length=120)
    description = models.CharField(max_length=200)
    due_back_date = models.DateField(null=True, blank=True)
    back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            *actual_constraints("subletentry"),
            models.CheckConstraint(
                condition=~models.Q(supplier="") & ~models.Q(description=""),
                name="subletentry_says_who_and_what",
            ),
        ]

    def __str__(self) -> str:
        return f"sublet {self.pk} on {self.job}"


class FeeEntry(ActualRow):
    """A fee that came up on a job: storage, environmental, travel, lift."""

    kind = models.CharField(max_length=14, choices=FeeKind)
    description = models.CharField(max_length=200)
    quantity_milli = models.BigIntegerField()
    unit = models.CharField(max_length=6, choices=Unit, default=Unit.EACH)

    class Meta:
        constraints = [
            *actual_constraints("feeentry"),
            models.CheckConstraint(condition=models.Q(quantity_milli__gt=0), name="feeentry_some"),
        ]

    def __str__(self) -> str:
        return f"fee {self.pk} on {self.job}"
