"""Customers: people or firms who own boats, bring them, or pay."""

from django.db import models


class Customer(models.Model):
    """A person or a firm. Only a name and a telephone number are needed at arrival."""

    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40)
    email = models.EmailField(blank=True)
    address = models.TextField(blank=True)
    is_tax_exempt = models.BooleanField(default=False)
    exemption_number = models.CharField(max_length=60, blank=True)
    exemption_reason = models.CharField(max_length=200, blank=True)
    note = models.TextField(blank=True)
    # an account customer takes the boat home before paying, within days of their own
    is_account = models.BooleanField(default=False)
    payment_days = models.PositiveSmallIntegerField(null=True, blank=True)
    needs_purchase_order = models.BooleanField(default=False)
    # their contact data was erased; what the law keeps stays, under a name that says so
    erased_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="customer_has_a_name"),
            models.CheckConstraint(
                condition=models.Q(is_tax_exempt=False) | ~models.Q(exemption_reason=""),
                name="customer_exemption_has_a_reason",
            ),
        ]
        indexes = [models.Index(fields=["name", "id"], name="customer_name")]

    def __str__(self) -> str:
        return f"{self.name} ({self.pk})"
