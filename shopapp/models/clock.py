"""The clock: when somebody was on a job, or on something else of the shop's."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.actuals import TimeKind


class ShopTime(models.TextChoices):
    """What time goes into that is nobody's job."""

    YARD = "yard", _("Yard")
    LAUNCHING = "launching", _("Launching")
    CLEAN_UP = "clean_up", _("Clean-up")
    WAITING = "waiting", _("Waiting")
    TRAINING = "training", _("Training")


CLOCKED = (*TimeKind.choices, *ShopTime.choices)


class ClockSpan(models.Model):
    """One stretch of a person's time: when they clocked on, and off, as they said so themselves.

    It ends when they say so or clock on to something else, whichever comes first; ``stopped_at`` holds that.
    Either word may reach the shop first.
    """

    mark = models.UUIDField(unique=True)
    person = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="clock_spans")
    job = models.ForeignKey(
        "shopapp.Job", on_delete=models.PROTECT, related_name="clock_spans", null=True, blank=True
    )
    kind = models.CharField(max_length=10, choices=CLOCKED, blank=True)
    # the planned hours that it counts towards, as the person picked them
    plan_line = models.ForeignKey(
        "shopapp.QuoteLine", on_delete=models.PROTECT, related_name="clock_spans", null=True, blank=True
    )
    on_at = models.DateTimeField(null=True, blank=True)
    off_at = models.DateTimeField(null=True, blank=True)
    stopped_at = models.DateTimeField(null=True, blank=True)
    # the row of the job's book that it became; none for the shop's own time, or while somebody must look
    time_entry = models.OneToOneField(
        "shopapp.TimeEntry", on_delete=models.PROTECT, related_name="clock_span", null=True, blank=True
    )
    corrected_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    corrected_at = models.DateTimeField(null=True, blank=True)
    corrected_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(on_at__isnull=False) | models.Q(off_at__isnull=False),
                name="clockspan_has_an_end",
            ),
            models.CheckConstraint(
                condition=models.Q(on_at__isnull=True) | ~models.Q(kind=""), name="clockspan_says_what_on"
            ),
            models.CheckConstraint(
                condition=models.Q(stopped_at__isnull=True)
                | models.Q(on_at__isnull=False, stopped_at__gte=models.F("on_at")),
                name="clockspan_stops_after_it_starts",
            ),
            models.CheckConstraint(
                condition=models.Q(corrected_by__isnull=True, corrected_at__isnull=True)
                | (
                    models.Q(corrected_by__isnull=False, corrected_at__isnull=False)
                    & ~models.Q(corrected_reason="")
                ),
                name="clockspan_corrected_says_by_whom_and_why",
            ),
        ]
        indexes = [models.Index(fields=["person", "on_at"], name="clockspan_person_on")]

    def __str__(self) -> str:
        return f"clock {self.mark} of {self.person_id}"
