"""What the desk keeps at hand: call slips, forms put aside, and what was just taken away."""

from django.db import models


class CallSlip(models.Model):
    """Somebody rang: about what, and until when they are called back. It needs no work order."""

    customer = models.ForeignKey(
        "shopapp.Customer", on_delete=models.PROTECT, related_name="call_slips", null=True, blank=True
    )
    work_order = models.ForeignKey(
        "shopapp.WorkOrder", on_delete=models.PROTECT, related_name="call_slips", null=True, blank=True
    )
    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    about = models.CharField(max_length=300)
    call_by_at = models.DateTimeField(null=True, blank=True)
    for_person = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="call_slips", null=True, blank=True
    )
    taken_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    answer = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(name="") & ~models.Q(about=""), name="callslip_says_who_and_what"
            ),
        ]

    def __str__(self) -> str:
        return f"call {self.pk}: {self.name}"


class ParkedForm(models.Model):
    """A form put aside half written: its address, and what stood in its fields."""

    person = models.ForeignKey("shopapp.Person", on_delete=models.CASCADE, related_name="parked_forms")
    title = models.CharField(max_length=120)
    path = models.CharField(max_length=500)
    # the form's own id on the page: a page may hold several
    form = models.CharField(max_length=60, blank=True)
    fields = models.JSONField(default=list)
    parked_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.title} ({self.pk})"


class Removed(models.Model):
    """Rows that somebody took away from a draft, so that they can be put back."""

    person = models.ForeignKey("shopapp.Person", on_delete=models.CASCADE, related_name="+")
    what = models.CharField(max_length=200)
    revision = models.ForeignKey("shopapp.QuoteRevision", on_delete=models.CASCADE, related_name="removed")
    rows = models.JSONField()
    removed_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.what} ({self.pk})"
