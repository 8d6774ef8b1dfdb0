"""Engines, which boat they hang on, and their hours over time."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class SerialState(models.TextChoices):
    """What is known of the serial plate."""

    READ = "read", _("read off the plate")
    UNREADABLE = "unreadable", _("plate can't be read")
    PLATE_GONE = "plate_gone", _("plate is gone")
    NOT_LOOKED = "not_looked", _("not looked yet")


class EnginePosition(models.TextChoices):
    """Where on the transom."""

    SINGLE = "single", _("single")
    PORT = "port", _("port")
    CENTRE = "centre", _("centre")
    STARBOARD = "starboard", _("starboard")


class HoursSource(models.TextChoices):
    """Where an hour reading comes from."""

    METER = "meter", _("hour meter")
    COMPUTER = "computer", _("engine computer")
    CUSTOMER = "customer", _("customer says")
    UNKNOWN = "unknown", _("unknown")


class Engine(models.Model):
    """An outboard. It may be all but unknown when the boat arrives."""

    make = models.CharField(max_length=80, blank=True)
    model = models.CharField(max_length=80, blank=True)
    serial = models.CharField(max_length=60, blank=True)
    serial_state = models.CharField(max_length=12, choices=SerialState, default=SerialState.NOT_LOOKED)
    year = models.PositiveSmallIntegerField(null=True, blank=True)
    # tenths: the commonest small outboard has 9.9 hp
    power_tenths_hp = models.PositiveSmallIntegerField(null=True, blank=True)
    # a person picks it; make and model as typed are never matched with the spec book
    family = models.ForeignKey(
        "shopapp.EngineFamily", on_delete=models.PROTECT, related_name="engines", null=True, blank=True
    )
    # fogged and laid up: by whom and on which job; empty while it is in service
    laid_up_at = models.DateTimeField(null=True, blank=True)
    laid_up_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    laid_up_on = models.ForeignKey(
        "shopapp.Job", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(laid_up_at=None, laid_up_by=None, laid_up_on=None)
                | models.Q(laid_up_at__isnull=False, laid_up_by__isnull=False, laid_up_on__isnull=False),
                name="engine_laid_up_says_by_whom_and_on_what",
            ),
            models.CheckConstraint(
                condition=~models.Q(serial_state=SerialState.READ) | ~models.Q(serial=""),
                name="engine_serial_read_is_written",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.make} {self.model} {self.serial}".strip() or f"engine {self.pk}"


class EngineMounting(models.Model):
    """An engine's time on a vessel (half-open days): engines move."""

    engine = models.ForeignKey(Engine, on_delete=models.PROTECT, related_name="mountings")
    vessel = models.ForeignKey("shopapp.Vessel", on_delete=models.PROTECT, related_name="mountings")
    position = models.CharField(max_length=10, choices=EnginePosition, default=EnginePosition.SINGLE)
    from_date = models.DateField()
    until_date = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["engine"],
                condition=models.Q(until_date__isnull=True),
                name="enginemounting_one_boat_now",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.engine} on {self.vessel}"


class HourReading(models.Model):
    """Running hours of an engine as read or said, in tenths."""

    engine = models.ForeignKey(Engine, on_delete=models.CASCADE, related_name="hour_readings")
    tenths = models.PositiveIntegerField()
    source = models.CharField(max_length=10, choices=HoursSource)
    read_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.engine}: {self.tenths} tenths"
