"""Vessels, and who owned them when."""

from django.db import models


class Vessel(models.Model):
    """A boat. "What is it on" (trailer, berth, cradle) is asked at arrival; the rest may come later."""

    name = models.CharField(max_length=80, blank=True)
    make = models.CharField(max_length=80, blank=True)
    model = models.CharField(max_length=80, blank=True)
    length_cm = models.PositiveIntegerField(null=True, blank=True)
    hull_number = models.CharField(max_length=40, blank=True)
    registration = models.CharField(max_length=40, blank=True)
    kept_on = models.CharField(max_length=80)
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return f"{self.name or self.make or 'boat'} ({self.pk})"


class VesselOwnership(models.Model):
    """A customer's time as owner of a vessel (half-open days)."""

    vessel = models.ForeignKey(Vessel, on_delete=models.PROTECT, related_name="ownerships")
    customer = models.ForeignKey("shopapp.Customer", on_delete=models.PROTECT, related_name="ownerships")
    from_date = models.DateField()
    until_date = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["vessel"],
                condition=models.Q(until_date__isnull=True),
                name="vesselownership_one_owner_now",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.customer} owns {self.vessel}"
