"""Work orders: one visit of one boat, from arrival to going home."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Stage(models.TextChoices):
    """Where a visit stands. A work order's stage follows from its least advanced open job."""

    BOOKED = "booked", _("Booked")
    HERE = "here", _("Here")
    DIAGNOSIS = "diagnosis", _("Diagnosis")
    WITH_CUSTOMER = "with_customer", _("With customer")
    IN_LINE = "in_line", _("In line")
    IN_HAND = "in_hand", _("In hand")
    TEST = "test", _("Test")
    READY = "ready", _("Ready")
    GONE = "gone", _("Gone")
    CANCELLED = "cancelled", _("Cancelled")


class Hold(models.TextChoices):
    """What a visit may wait for."""

    PARTS = "parts", _("Parts")
    ANSWER = "answer", _("Answer")
    ACCESS = "access", _("Access or keys")
    SUBLET = "sublet", _("Work bought in")
    TECHNICIAN = "technician", _("Technician")
    BAY = "bay", _("Bay")
    LIFT = "lift", _("Lift or tide")
    WEATHER = "weather", _("Weather")
    MAKER = "maker", _("Maker or insurer")
    OWNER = "owner", _("Owner's look")
    PAYMENT = "payment", _("Payment")


CLOSED_STAGES = (Stage.GONE, Stage.CANCELLED)


class ToldHow(models.TextChoices):
    """How the customer was told that the boat is ready."""

    PHONE = "phone", _("by telephone")
    EMAIL = "email", _("by email")
    TEXT = "text", _("by text message")
    IN_PERSON = "in_person", _("in person")


class Fuel(models.TextChoices):
    """What the tank shows when the boat comes in."""

    NOT_LOOKED = "", _("not looked yet")
    EMPTY = "empty", _("empty")
    QUARTER = "quarter", _("about a quarter")
    HALF = "half", _("about half")
    THREE_QUARTERS = "three_quarters", _("about three quarters")
    FULL = "full", _("full")
    NO_TANK = "none", _("no tank came with it")


class WorkOrderQuerySet(models.QuerySet["WorkOrder"]):
    """Filters on work orders."""

    def open(self) -> "WorkOrderQuerySet":
        return self.exclude(stage__in=CLOSED_STAGES)

    def for_technician(self, person_id: int) -> "WorkOrderQuerySet":
        return self.filter(jobs__assignments__person_id=person_id).distinct()


class WorkOrder(models.Model):
    """One visit of one boat."""

    number = models.CharField(max_length=20, unique=True)
    vessel = models.ForeignKey("shopapp.Vessel", on_delete=models.PROTECT, related_name="work_orders")
    customer = models.ForeignKey("shopapp.Customer", on_delete=models.PROTECT, related_name="work_orders")
    stage = models.CharField(max_length=14, choices=Stage, default=Stage.HERE)
    complaint = models.TextField()
    arrival_state = models.TextField(blank=True)
    fuel = models.CharField(max_length=14, choices=Fuel, default=Fuel.NOT_LOOKED, blank=True)
    keys_tag = models.CharField(max_length=40, blank=True)
    loose_gear = models.TextField(blank=True)
    trailer = models.CharField(max_length=80, blank=True)
    purchase_order = models.CharField(max_length=60, blank=True)
    # where the boat is now; the custody log says how it came there
    place = models.CharField(max_length=80, blank=True)
    is_boat_here = models.BooleanField(default=True)
    promised_date = models.DateField(null=True, blank=True)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    told_at = models.DateTimeField(null=True, blank=True)
    told_how = models.CharField(max_length=10, choices=ToldHow, blank=True)
    gone_at = models.DateTimeField(null=True, blank=True)
    gone_to = models.CharField(max_length=120, blank=True)
    # the owner let the boat go with money owed: by whom, how much and why
    released_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    released_owing_minor = models.BigIntegerField(default=0)
    release_reason = models.CharField(max_length=300, blank=True)
    cancelled_reason = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

    objects = WorkOrderQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(stage__in=Stage.values), name="workorder_stage_known"),
            models.CheckConstraint(condition=~models.Q(complaint=""), name="workorder_complaint_is_written"),
            models.CheckConstraint(
                condition=~models.Q(stage=Stage.GONE) | models.Q(gone_at__isnull=False),
                name="workorder_gone_has_a_time",
            ),
            models.CheckConstraint(
                condition=models.Q(released_by__isnull=True) | ~models.Q(release_reason=""),
                name="workorder_release_has_a_reason",
            ),
        ]
        indexes = [models.Index(fields=["stage", "-opened_at"], name="workorder_stage_opened")]

    def __str__(self) -> str:
        return self.number
