"""Jobs: one thing to put right, who works on it, what was found, and the test that proves it."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.actuals import FluidCondition
from shopapp.models.lines import Payer
from shopapp.models.work_orders import Stage


class PriceKind(models.TextChoices):
    """How a job is billed; printed on the quote."""

    FIXED = "fixed", _("Fixed price")
    CEILING = "ceiling", _("At most this much")
    TIME_AND_MATERIAL = "time", _("Time and material")


class TestKind(models.TextChoices):
    """The test that fits a job."""

    NONE = "none", _("No test needed")
    HOSE = "hose", _("On the hose")
    TANK = "tank", _("In the tank")
    WATER = "water", _("On the water")
    WATER_WITH_CUSTOMER = "water_customer", _("On the water with the customer")


class Outcome(models.TextChoices):
    """How a job ended."""

    OPEN = "open", _("not finished")
    DONE = "done", _("done")
    NO_FAULT = "no_fault", _("no fault found")
    DECLINED = "declined", _("declined: put back together")
    DECLINED_IN_BOXES = "declined_boxes", _("declined: goes home in boxes")
    DECLINED_AS_SCRAP = "declined_scrap", _("declined: left for scrap")
    LATER = "later", _("later, on another visit")


DECLINED_OUTCOMES = (Outcome.DECLINED, Outcome.DECLINED_IN_BOXES, Outcome.DECLINED_AS_SCRAP)


class Job(models.Model):
    """One thing on one engine or on the boat: complaint, cause, correction."""

    work_order = models.ForeignKey("shopapp.WorkOrder", on_delete=models.PROTECT, related_name="jobs")
    engine = models.ForeignKey(
        "shopapp.Engine", on_delete=models.PROTECT, related_name="jobs", null=True, blank=True
    )
    position = models.PositiveSmallIntegerField(default=1)
    stage = models.CharField(max_length=14, choices=Stage, default=Stage.HERE)
    complaint = models.TextField()
    cause = models.TextField(blank=True)
    correction = models.TextField(blank=True)
    price_kind = models.CharField(max_length=10, choices=PriceKind, default=PriceKind.FIXED)
    test_kind = models.CharField(max_length=16, choices=TestKind, default=TestKind.WATER)
    outcome = models.CharField(max_length=14, choices=Outcome, default=Outcome.OPEN)
    payer = models.CharField(max_length=10, choices=Payer, default=Payer.CUSTOMER)
    # a comeback: the whole cost of this job is found from the job that caused it
    caused_by_job = models.ForeignKey(
        "self", on_delete=models.PROTECT, related_name="comebacks", null=True, blank=True
    )
    # the same trouble again, or another one because of the work; empty until the owner has judged
    is_for_same_cause = models.BooleanField(null=True, blank=True)
    # work begun before an approval: how much of the signed spending limit it may take, without tax
    limit_share_minor = models.BigIntegerField(null=True, blank=True)
    waiver_reason = models.CharField(max_length=300, blank=True)
    waived_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["work_order", "position"], name="job_one_a_position"),
            models.CheckConstraint(condition=models.Q(stage__in=Stage.values), name="job_stage_known"),
            models.CheckConstraint(condition=models.Q(outcome__in=Outcome.values), name="job_outcome_known"),
            models.CheckConstraint(
                condition=models.Q(waived_by__isnull=True) | ~models.Q(waiver_reason=""),
                name="job_waiver_has_a_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(limit_share_minor__isnull=True) | models.Q(limit_share_minor__gt=0),
                name="job_limit_share_is_some",
            ),
            models.CheckConstraint(
                condition=models.Q(caused_by_job__isnull=True) | ~models.Q(caused_by_job=models.F("id")),
                name="job_not_its_own_cause",
            ),
            models.CheckConstraint(
                condition=models.Q(is_for_same_cause__isnull=True) | models.Q(caused_by_job__isnull=False),
                name="job_same_cause_of_a_comeback",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.work_order} job {self.position}"


class JobAssignment(models.Model):
    """A technician who works on a job."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="assignments")
    person = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="assignments")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "person"], name="jobassignment_once")]

    def __str__(self) -> str:
        return f"{self.person} on {self.job}"


class JobTest(models.Model):
    """A test run of a job and its verdict. A job may need more than one until it passes."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="tests")
    kind = models.CharField(max_length=16, choices=TestKind)
    conditions = models.CharField(max_length=200, blank=True)
    remarks = models.TextField(blank=True)
    # the run itself: speeds there and back, which take wind and current out; pitch in inches
    speed_there_e4 = models.PositiveBigIntegerField(null=True, blank=True)
    speed_back_e4 = models.PositiveBigIntegerField(null=True, blank=True)
    speed_unit = models.CharField(max_length=12, blank=True)
    rpm = models.PositiveIntegerField(null=True, blank=True)
    pitch_e4 = models.PositiveIntegerField(null=True, blank=True)
    # of the engine, at idle and at full throttle
    idle_temperature_e4 = models.IntegerField(null=True, blank=True)
    full_temperature_e4 = models.IntegerField(null=True, blank=True)
    temperature_unit = models.CharField(max_length=12, blank=True)
    temperature_point = models.CharField(max_length=60, blank=True)
    load = models.CharField(max_length=120, blank=True)
    warnings = models.CharField(max_length=200, blank=True)
    fluid_seen = models.CharField(max_length=12, choices=FluidCondition, blank=True)
    # what the figures come to, by the spec book of that day
    said = models.CharField(max_length=800, blank=True)
    has_passed = models.BooleanField()
    tested_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    tested_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(speed_there_e4__isnull=True, speed_back_e4__isnull=True)
                | (
                    models.Q(speed_there_e4__isnull=False, speed_back_e4__isnull=False)
                    & ~models.Q(speed_unit="")
                ),
                name="jobtest_speed_is_both_ways",
            ),
            models.CheckConstraint(
                condition=models.Q(idle_temperature_e4__isnull=True, full_temperature_e4__isnull=True)
                | ~models.Q(temperature_unit=""),
                name="jobtest_temperature_has_a_unit",
            ),
        ]

    def __str__(self) -> str:
        return f"test {self.pk} of {self.job}"


class Photo(models.Model):
    """A photo of a job; the file is named by the SHA-256 of its re-encoded bytes and never changes."""

    work_order = models.ForeignKey("shopapp.WorkOrder", on_delete=models.PROTECT, related_name="photos")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="photos")
    sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    byte_size = models.PositiveIntegerField()
    caption = models.CharField(max_length=200, blank=True)
    is_of_arrival = models.BooleanField(default=False)
    taken_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "sha256"], name="photo_once_a_job")]

    def __str__(self) -> str:
        return f"photo {self.pk} of {self.work_order}"
