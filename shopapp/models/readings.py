"""Readings of an engine on a job: what was measured, how, and the verdict that was given then."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.struck import Struck, struck_constraint


class ReadingKind(models.TextChoices):
    """What is measured; the values are those of ``calc.verdicts``."""

    COMPRESSION = "compression", _("Compression")
    LEAK_DOWN = "leak_down", _("Leak-down")
    OIL_PRESSURE = "oil_pressure", _("Oil pressure")
    FUEL_PRESSURE = "fuel_pressure", _("Fuel pressure")
    VOLTAGE = "voltage", _("Voltage")
    TEMPERATURE = "temperature", _("Temperature")
    GEARCASE_PRESSURE = "gearcase_pressure", _("Gearcase pressure")
    GEARCASE_VACUUM = "gearcase_vacuum", _("Gearcase vacuum")
    FLUID_LOSS = "fluid_loss", _("Fluid loss")
    FULL_THROTTLE = "full_throttle", _("Revs at full throttle")


class Warmth(models.TextChoices):
    """How the engine was when it was measured."""

    COLD = "cold", _("cold")
    WARM = "warm", _("warm")


class ReadingVerdict(models.TextChoices):
    """What a reading says; the values are those of ``calc.limits``."""

    IN_LIMITS = "in_limits", _("in limits")
    AT_EDGE = "at_edge", _("at the edge")
    OUT_OF_LIMITS = "out_of_limits", _("out of limits")
    NO_LIMIT = "no_limit", _("no limit known")


class Reading(Struck):
    """One measurement on a job. Verdict and limit are frozen in words: the spec book may change later."""

    job = models.ForeignKey("shopapp.Job", on_delete=models.PROTECT, related_name="readings")
    kind = models.CharField(max_length=20, choices=ReadingKind)
    # where it was taken; a fluid loss: of what
    point = models.CharField(max_length=60, blank=True)
    # as written in calc.units; empty for volts, per cent and revs
    unit = models.CharField(max_length=12, blank=True)
    minutes_e4 = models.BigIntegerField(null=True, blank=True)
    warmth = models.CharField(max_length=4, choices=Warmth, blank=True)
    throttle = models.CharField(max_length=40, blank=True)
    verdict = models.CharField(max_length=14, choices=ReadingVerdict)
    verdict_words = models.CharField(max_length=1000)
    limit_words = models.CharField(max_length=300, blank=True)
    remark = models.CharField(max_length=300, blank=True)
    logged_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=ReadingKind.values), name="reading_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(verdict__in=ReadingVerdict.values) & ~models.Q(verdict_words=""),
                name="reading_verdict_known",
            ),
            models.CheckConstraint(
                condition=models.Q(minutes_e4__isnull=True) | models.Q(minutes_e4__gt=0),
                name="reading_minutes_above_nought",
            ),
            struck_constraint("reading"),
        ]

    def __str__(self) -> str:
        return f"reading {self.pk} on {self.job}"


class ReadingValue(models.Model):
    """A figure of a reading, in its unit: one for each cylinder, or one alone.

    ``second_e4``: wet compression, pressure held, what was there at the end, or the pitch of the propeller.
    """

    reading = models.ForeignKey(Reading, on_delete=models.CASCADE, related_name="values")
    cylinder = models.PositiveSmallIntegerField(null=True, blank=True)
    value_e4 = models.BigIntegerField()
    second_e4 = models.BigIntegerField(null=True, blank=True)
    verdict = models.CharField(max_length=14, choices=ReadingVerdict)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["reading", "cylinder"], name="readingvalue_one_a_cylinder"),
            models.UniqueConstraint(
                fields=["reading"],
                condition=models.Q(cylinder__isnull=True),
                name="readingvalue_one_alone",
            ),
            models.CheckConstraint(
                condition=models.Q(cylinder__isnull=True) | models.Q(cylinder__gte=1),
                name="readingvalue_cylinders_from_one",
            ),
            models.CheckConstraint(
                condition=models.Q(verdict__in=ReadingVerdict.values), name="readingvalue_verdict_known"
            ),
        ]

    def __str__(self) -> str:
        return f"value {self.pk} of {self.reading}"
