"""Jobs: one thing to put right, who works on it, what was found, and the test that proves it."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.work_orders import Stage


class PriceKind(models.TextChoices):
    """How a job is billed; printed on the quote."""

    FIXED = "fixed", _("Fixed price")


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
    DECLINED = "declined", _("declined: put back together")


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
    outcome = models.CharField(max_length=10, choices=Outcome, default=Outcome.OPEN)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["work_order", "position"], name="job_one_a_position"),
            models.CheckConstraint(condition=models.Q(stage__in=Stage.values), name="job_stage_known"),
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
    has_passed = models.BooleanField()
    tested_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    tested_at = models.DateTimeField()

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
    taken_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "sha256"], name="photo_once_a_job")]

    def __str__(self) -> str:
        return f"photo {self.pk} of {self.work_order}"
