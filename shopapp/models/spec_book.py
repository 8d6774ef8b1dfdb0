"""The spec book: what the makers' manuals say of a family of engines, each value with its page.

The shop's own entries. Figures are kept as they stand in the manual, in 1/10,000 of the unit they were
written in (``calc.units``).
"""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.readings import ReadingKind, Warmth

MOST_CYLINDERS = 16


def _given_with_page(*figures: str, page: str) -> models.Q:
    """A page beside the figures, or no figures."""
    none = models.Q(**{f"{one}__isnull": True for one in figures})
    return none | ~models.Q(**{page: ""})


class EngineFamily(models.Model):
    """Engines that share their figures. A person says which family an engine belongs to."""

    make = models.CharField(max_length=80)
    name = models.CharField(max_length=80)
    # which models and years it covers, in the shop's words
    covers = models.CharField(max_length=200, blank=True)
    manual = models.CharField(max_length=120, blank=True)
    power_from_tenths_hp = models.PositiveSmallIntegerField(null=True, blank=True)
    power_to_tenths_hp = models.PositiveSmallIntegerField(null=True, blank=True)
    power_page = models.CharField(max_length=60, blank=True)
    throttle_from_rpm = models.PositiveIntegerField(null=True, blank=True)
    throttle_to_rpm = models.PositiveIntegerField(null=True, blank=True)
    throttle_page = models.CharField(max_length=60, blank=True)
    gear_ratio_e4 = models.PositiveIntegerField(null=True, blank=True)
    gear_page = models.CharField(max_length=60, blank=True)
    cylinders = models.PositiveSmallIntegerField(null=True, blank=True)
    cylinders_page = models.CharField(max_length=60, blank=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["make", "name"], name="enginefamily_one_a_name"),
            models.CheckConstraint(
                condition=~models.Q(make="") & ~models.Q(name=""), name="enginefamily_has_make_and_name"
            ),
            models.CheckConstraint(
                condition=models.Q(power_from_tenths_hp__isnull=True, power_to_tenths_hp__isnull=True)
                | models.Q(
                    power_from_tenths_hp__isnull=False,
                    power_to_tenths_hp__isnull=False,
                    power_to_tenths_hp__gte=models.F("power_from_tenths_hp"),
                ),
                name="enginefamily_power_is_a_range",
            ),
            models.CheckConstraint(
                condition=models.Q(throttle_from_rpm__isnull=True, throttle_to_rpm__isnull=True)
                | models.Q(
                    throttle_from_rpm__isnull=False,
                    throttle_to_rpm__isnull=False,
                    throttle_from_rpm__gt=0,
                    throttle_to_rpm__gte=models.F("throttle_from_rpm"),
                ),
                name="enginefamily_throttle_is_a_range",
            ),
            models.CheckConstraint(
                condition=models.Q(gear_ratio_e4__isnull=True) | models.Q(gear_ratio_e4__gt=0),
                name="enginefamily_gear_ratio_above_nought",
            ),
            models.CheckConstraint(
                condition=models.Q(cylinders__isnull=True) | models.Q(cylinders__range=(1, MOST_CYLINDERS)),
                name="enginefamily_cylinders_sane",
            ),
            models.CheckConstraint(
                condition=_given_with_page("power_from_tenths_hp", page="power_page")
                & _given_with_page("throttle_from_rpm", page="throttle_page")
                & _given_with_page("gear_ratio_e4", page="gear_page")
                & _given_with_page("cylinders", page="cylinders_page"),
                name="enginefamily_figures_have_pages",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.make} {self.name}"


class SpecRow(models.Model):
    """What the values of a family share: the page they came from."""

    family = models.ForeignKey(EngineFamily, on_delete=models.CASCADE, related_name="%(class)s_rows")
    page = models.CharField(max_length=60)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        abstract = True


def page_constraints(table: str) -> list[models.BaseConstraint]:
    """Every value says where it stands, named for its table."""
    return [models.CheckConstraint(condition=~models.Q(page=""), name=f"{table}_has_its_page")]


class FluidCapacity(SpecRow):
    """How much of what goes into one point, and up to where."""

    point = models.CharField(max_length=60)
    amount_e4 = models.BigIntegerField()
    unit = models.CharField(max_length=12)
    # the same, as fluids are logged
    ml = models.PositiveIntegerField()
    product = models.CharField(max_length=120, blank=True)
    level_to = models.CharField(max_length=120, blank=True)

    class Meta:
        constraints = [
            *page_constraints("fluidcapacity"),
            models.UniqueConstraint(fields=["family", "point"], name="fluidcapacity_one_a_point"),
            models.CheckConstraint(
                condition=models.Q(ml__gt=0, amount_e4__gt=0) & ~models.Q(point=""),
                name="fluidcapacity_some_somewhere",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.point} of {self.family}"


class ReadingLimit(SpecRow):
    """What a reading may be. A pressure over time: how much it may lose in so many minutes.

    A fluid loss: ``maximum_e4`` in an hour of running, ``minimum_e4`` is the least that is in it. A
    leak-down: ``maximum_e4`` in per cent.
    """

    kind = models.CharField(max_length=20, choices=ReadingKind)
    # where it is taken; empty: wherever
    point = models.CharField(max_length=60, blank=True)
    # empty counts for both
    warmth = models.CharField(max_length=4, choices=Warmth, blank=True)
    minimum_e4 = models.BigIntegerField(null=True, blank=True)
    maximum_e4 = models.BigIntegerField(null=True, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    # compression: how far cylinders may differ, in per cent of the highest
    most_spread_e4 = models.BigIntegerField(null=True, blank=True)
    loss_e4 = models.BigIntegerField(null=True, blank=True)
    loss_minutes_e4 = models.BigIntegerField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            *page_constraints("readinglimit"),
            models.UniqueConstraint(
                fields=["family", "kind", "point", "warmth"], name="readinglimit_one_a_case"
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=ReadingKind.values), name="readinglimit_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(minimum_e4__isnull=False)
                | models.Q(maximum_e4__isnull=False)
                | models.Q(most_spread_e4__isnull=False)
                | models.Q(loss_e4__isnull=False),
                name="readinglimit_limits_something",
            ),
            models.CheckConstraint(
                # a fluid loss: the least that is in it, and the most that goes in an hour
                condition=models.Q(kind=ReadingKind.FLUID_LOSS)
                | models.Q(minimum_e4__isnull=True)
                | models.Q(maximum_e4__isnull=True)
                | models.Q(maximum_e4__gte=models.F("minimum_e4")),
                name="readinglimit_is_a_range",
            ),
            models.CheckConstraint(
                condition=models.Q(loss_e4__isnull=True, loss_minutes_e4__isnull=True)
                | models.Q(
                    # nothing known is neither true nor false to a database, so both are asked for
                    loss_e4__isnull=False,
                    loss_minutes_e4__isnull=False,
                    loss_e4__gte=0,
                    loss_minutes_e4__gt=0,
                ),
                name="readinglimit_loss_has_its_time",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.family}"


class ServiceInterval(SpecRow):
    """What is done every so many hours or months, whichever comes first."""

    what = models.CharField(max_length=160)
    hours = models.PositiveIntegerField(null=True, blank=True)
    months = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            *page_constraints("serviceinterval"),
            models.UniqueConstraint(fields=["family", "what"], name="serviceinterval_one_a_work"),
            models.CheckConstraint(
                condition=~models.Q(what="")
                & (models.Q(hours__isnull=False, hours__gt=0) | models.Q(months__isnull=False, months__gt=0)),
                name="serviceinterval_says_what_and_when",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what} of {self.family}"


class KnownFault(SpecRow):
    """What often goes wrong with a family, and what to look at first."""

    text = models.TextField()

    class Meta:
        constraints = [
            *page_constraints("knownfault"),
            models.CheckConstraint(condition=~models.Q(text=""), name="knownfault_says_something"),
        ]

    def __str__(self) -> str:
        return f"known fault {self.pk} of {self.family}"


class Bulletin(SpecRow):
    """A bulletin of the maker for engines of some serials; empty bounds: from the first, to the last."""

    number = models.CharField(max_length=40)
    text = models.TextField()
    serial_from = models.CharField(max_length=60, blank=True)
    serial_to = models.CharField(max_length=60, blank=True)

    class Meta:
        constraints = [
            *page_constraints("bulletin"),
            models.UniqueConstraint(fields=["family", "number"], name="bulletin_one_a_number"),
            models.CheckConstraint(
                condition=~models.Q(number="") & ~models.Q(text=""), name="bulletin_says_something"
            ),
        ]

    def __str__(self) -> str:
        return f"bulletin {self.number} of {self.family}"


class PatternKind(models.TextChoices):
    """How the fasteners of a joint stand; ``calc.patterns`` draws them."""

    CIRCLE = "circle", _("circle")
    LINE = "line", _("single row")
    GRID = "grid", _("rows and columns")
    RECTANGLE = "rectangle", _("round the rim")


class StageKind(models.TextChoices):
    """What is done to each fastener in a round; the values are those of ``calc.tightening``."""

    TORQUE = "torque", _("to a torque")
    ANGLE = "angle", _("by an angle")
    CHECK = "check", _("check the torque")


class TighteningSpec(SpecRow):
    """A joint: how its fasteners stand, in which order and stages they are tightened, what to mind.

    A circle and a row have ``columns`` fasteners and one row. Without ``sequence`` the general order is used.
    """

    joint = models.CharField(max_length=120)
    pattern = models.CharField(max_length=10, choices=PatternKind)
    columns = models.PositiveSmallIntegerField()
    rows = models.PositiveSmallIntegerField(default=1)
    # the maker's own order: the fasteners' numbers
    sequence = models.JSONField(default=list, blank=True)
    is_one_time = models.BooleanField(default=False)
    treatment = models.CharField(max_length=120, blank=True)
    # what the fastener is, by which a torque out of proportion is asked about
    diameter_e4 = models.PositiveIntegerField(null=True, blank=True)
    pitch_e4 = models.PositiveIntegerField(null=True, blank=True)
    property_class = models.CharField(max_length=10, blank=True)
    fastener = models.CharField(max_length=12, blank=True)
    surface = models.CharField(max_length=12, blank=True)
    # a torque was asked about, and somebody looked it up once more
    is_looked_up = models.BooleanField(default=False)

    class Meta:
        constraints = [
            *page_constraints("tighteningspec"),
            models.UniqueConstraint(fields=["family", "joint"], name="tighteningspec_one_a_joint"),
            models.CheckConstraint(
                condition=~models.Q(joint="") & models.Q(pattern__in=PatternKind.values),
                name="tighteningspec_says_what",
            ),
            models.CheckConstraint(
                condition=models.Q(columns__range=(1, 60), rows__range=(1, 60)),
                name="tighteningspec_has_fasteners",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.joint} of {self.family}"


class TighteningStage(models.Model):
    """One round over all fasteners of a joint; an angle has no unit, it is in degrees."""

    spec = models.ForeignKey(TighteningSpec, on_delete=models.CASCADE, related_name="stages")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=StageKind)
    value_e4 = models.BigIntegerField()
    unit = models.CharField(max_length=12, blank=True)
    # by the numbers instead of crossing
    goes_round = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["spec", "position"], name="tighteningstage_one_a_place"),
            models.CheckConstraint(
                condition=models.Q(kind__in=StageKind.values, value_e4__gt=0),
                name="tighteningstage_does_something",
            ),
            models.CheckConstraint(
                condition=(models.Q(kind=StageKind.ANGLE, unit=""))
                | (~models.Q(kind=StageKind.ANGLE) & ~models.Q(unit="")),
                name="tighteningstage_unit_fits",
            ),
        ]

    def __str__(self) -> str:
        return f"stage {self.position} of {self.spec}"
