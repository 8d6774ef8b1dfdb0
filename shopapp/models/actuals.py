"""What really happened on a job: parts used, time, fluids. Each row keeps its cost, and the sell price
and the rule that gave it, frozen by the server when it was logged."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.lines import Unit


class ActualRow(models.Model):
    """What the actual rows share."""

    job = models.ForeignKey("shopapp.Job", on_delete=models.PROTECT, related_name="%(class)ss")
    plan_line = models.ForeignKey(
        "shopapp.QuoteLine", on_delete=models.PROTECT, related_name="%(class)ss", null=True, blank=True
    )
    # unknown at the bench for extra work: the desk prices it later
    unit_cost_e4 = models.BigIntegerField(null=True, blank=True)
    unit_price_e4 = models.BigIntegerField(null=True, blank=True)
    price_rule = models.CharField(max_length=200, blank=True)
    logged_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()

    class Meta:
        abstract = True


class PartUsed(ActualRow):
    """A part that went into the boat."""

    number = models.CharField(max_length=40, blank=True)
    description = models.CharField(max_length=200)
    quantity_milli = models.BigIntegerField()
    unit = models.CharField(max_length=6, choices=Unit, default=Unit.EACH)

    class Meta:
        constraints = [
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
            models.CheckConstraint(
                condition=models.Q(drained_ml__gt=0) | models.Q(filled_ml__gt=0), name="fluidentry_some"
            ),
        ]

    def __str__(self) -> str:
        return f"fluid {self.pk} on {self.job}"
