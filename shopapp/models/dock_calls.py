"""A work order that the desk hands out to one tablet for a day, so that it can be signed at the dock."""

from datetime import date

from django.db import models


class DockCallQuerySet(models.QuerySet["DockCall"]):
    """Filters on dock calls."""

    def in_force_on(self, day: date) -> "DockCallQuerySet":
        return self.filter(call_date=day, taken_back_at=None)


class DockCall(models.Model):
    """One work order, handed to one technician at one tablet for one day of the shop."""

    work_order = models.ForeignKey("shopapp.WorkOrder", on_delete=models.PROTECT, related_name="dock_calls")
    device = models.ForeignKey("shopapp.Device", on_delete=models.PROTECT, related_name="dock_calls")
    person = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="dock_calls")
    # the shop's day; the call is over when it is
    call_date = models.DateField()
    handed_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    handed_at = models.DateTimeField()
    taken_back_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    taken_back_at = models.DateTimeField(null=True, blank=True)

    objects = DockCallQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(taken_back_at__isnull=True, taken_back_by__isnull=True)
                | models.Q(taken_back_at__isnull=False, taken_back_by__isnull=False),
                name="dockcall_taken_back_says_by_whom",
            ),
            models.UniqueConstraint(
                fields=["device", "call_date"],
                condition=models.Q(taken_back_at__isnull=True),
                name="dockcall_one_a_tablet_and_day",
            ),
            models.UniqueConstraint(
                fields=["work_order", "call_date"],
                condition=models.Q(taken_back_at__isnull=True),
                name="dockcall_one_a_visit_and_day",
            ),
        ]

    def __str__(self) -> str:
        return f"dock call {self.pk} of {self.work_order_id}"
