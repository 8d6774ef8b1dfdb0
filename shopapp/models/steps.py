"""Steps of a job: what must not be forgotten, from the shop's lists or by hand, ticked by whoever did it.

A step that tightens a joint keeps the joint as the spec book had it when the step was added.
"""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.struck import Struck


class StepCaution(models.TextChoices):
    """Where a step can hurt somebody, the caution that stands beside it."""

    NONE = "", _("none")
    WORK = "work", _("before you reach in")
    RUN = "run", _("before it runs")
    TURN = "turn", _("before it is turned over")
    FLUID = "fluid", _("used oil")


class StepList(models.Model):
    """The steps of a kind of job, as this shop does it."""

    title = models.CharField(max_length=120, unique=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(title=""), name="steplist_has_a_title"),
        ]

    def __str__(self) -> str:
        return self.title


class StepLine(models.Model):
    """One step of a list. With ``joint``: the joint of that name in the spec book of the job's engine."""

    list = models.ForeignKey(StepList, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    text = models.CharField(max_length=200)
    is_required = models.BooleanField(default=True)
    joint = models.CharField(max_length=120, blank=True)
    caution = models.CharField(max_length=8, choices=StepCaution, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["list", "position"], name="stepline_one_a_place"),
            models.CheckConstraint(
                condition=~models.Q(text="") & models.Q(caution__in=StepCaution.values),
                name="stepline_says_something",
            ),
        ]

    def __str__(self) -> str:
        return f"line {self.position} of {self.list}"


class StepOrigin(models.TextChoices):
    """Where a step of a job came from."""

    HAND = "hand", _("by hand")
    LIST = "list", _("from a list")
    JOINT = "joint", _("from the spec book")


class JobStep(models.Model):
    """Something that is ticked once it is done; a required one keeps its job from being ready until then."""

    job = models.ForeignKey("shopapp.Job", on_delete=models.PROTECT, related_name="steps")
    position = models.PositiveSmallIntegerField()
    text = models.CharField(max_length=200)
    is_required = models.BooleanField(default=True)
    caution = models.CharField(max_length=8, choices=StepCaution, blank=True)
    origin = models.CharField(max_length=5, choices=StepOrigin)
    # the list's title, or the family
    origin_words = models.CharField(max_length=200, blank=True)
    # the joint as it stood in the spec book; see queries.joints
    joint = models.JSONField(default=dict, blank=True)
    # follows from the ticks that stand, written with them
    is_done = models.BooleanField(default=False)
    added_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    removed_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    removed_at = models.DateTimeField(null=True, blank=True)
    # the owner lets the job go without it
    waiver_reason = models.CharField(max_length=300, blank=True)
    waived_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "position"], name="jobstep_one_a_place"),
            models.CheckConstraint(
                condition=~models.Q(text="")
                & models.Q(caution__in=StepCaution.values, origin__in=StepOrigin.values),
                name="jobstep_says_something",
            ),
            models.CheckConstraint(
                condition=models.Q(removed_at__isnull=True, removed_by__isnull=True)
                | models.Q(removed_at__isnull=False, removed_by__isnull=False),
                name="jobstep_removed_says_by_whom",
            ),
            models.CheckConstraint(
                condition=models.Q(waived_by__isnull=True, waiver_reason="")
                | models.Q(waived_by__isnull=False) & ~models.Q(waiver_reason=""),
                name="jobstep_waiver_has_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"step {self.position} of {self.job}"


class StepTick(Struck):
    """Somebody did a step, or a fastener of a stage of it; struck out where that was wrong, never removed.

    ``stage`` counts from 1. ``fastener`` is its number in the order of the stage; none: all of it.
    """

    step = models.ForeignKey(JobStep, on_delete=models.PROTECT, related_name="ticks")
    stage = models.PositiveSmallIntegerField(null=True, blank=True)
    fastener = models.PositiveSmallIntegerField(null=True, blank=True)
    ticked_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    device = models.ForeignKey(
        "shopapp.Device", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(stage__isnull=True, fastener__isnull=True)
                | models.Q(stage__isnull=False, stage__gt=0, fastener__isnull=True)
                | models.Q(stage__isnull=False, stage__gt=0, fastener__isnull=False, fastener__gt=0),
                name="steptick_fastener_has_its_stage",
            ),
            models.CheckConstraint(
                condition=models.Q(struck_at__isnull=True, struck_by__isnull=True, struck_reason="")
                | models.Q(struck_at__isnull=False, struck_by__isnull=False) & ~models.Q(struck_reason=""),
                name="steptick_struck_says_why",
            ),
        ]

    def __str__(self) -> str:
        return f"tick {self.pk} of {self.step}"
