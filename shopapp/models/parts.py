"""The shop's simple list of parts: what they are called, what they cost and sell for."""

from django.db import models

from shopapp.models.lines import PartCondition, Unit


class Part(models.Model):
    """A part the shop knows. Without a price of its own it sells at cost and markup."""

    number = models.CharField(max_length=40, unique=True)
    description = models.CharField(max_length=200)
    unit = models.CharField(max_length=6, choices=Unit, default=Unit.EACH)
    condition = models.CharField(max_length=8, choices=PartCondition, default=PartCondition.NEW)
    unit_cost_e4 = models.BigIntegerField(null=True, blank=True)
    unit_price_e4 = models.BigIntegerField(null=True, blank=True)
    tax_code = models.ForeignKey(
        "shopapp.TaxCode", on_delete=models.PROTECT, related_name="parts", null=True, blank=True
    )
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(number="") & ~models.Q(description=""), name="part_has_number_and_name"
            ),
            models.CheckConstraint(
                condition=(models.Q(unit_cost_e4__isnull=True) | models.Q(unit_cost_e4__gte=0))
                & (models.Q(unit_price_e4__isnull=True) | models.Q(unit_price_e4__gte=0)),
                name="part_amounts_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.number
