"""Invoices and payments. A draft has no number; an issued invoice never changes."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.lines import PricedLine, line_constraints


class Invoice(models.Model):
    """A bill for a work order. Totals and what is printed are frozen when it is issued."""

    work_order = models.ForeignKey("shopapp.WorkOrder", on_delete=models.PROTECT, related_name="invoices")
    customer = models.ForeignKey("shopapp.Customer", on_delete=models.PROTECT, related_name="invoices")
    number = models.CharField(max_length=20, null=True, blank=True, unique=True)
    created_at = models.DateTimeField()
    issued_at = models.DateTimeField(null=True, blank=True)
    issue_date = models.DateField(null=True, blank=True)
    tax_date = models.DateField(null=True, blank=True)
    due_date = models.DateField(null=True, blank=True)
    without_tax_minor = models.BigIntegerField(default=0)
    tax_minor = models.BigIntegerField(default=0)
    total_minor = models.BigIntegerField(default=0)
    shown = models.TextField(blank=True)
    shown_sha256 = models.CharField(max_length=64, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(total_minor=models.F("without_tax_minor") + models.F("tax_minor")),
                name="invoice_total_adds_up",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    issued_at__isnull=True, number__isnull=True, issue_date__isnull=True, shown_sha256=""
                )
                | (
                    models.Q(
                        issued_at__isnull=False,
                        number__isnull=False,
                        issue_date__isnull=False,
                        tax_date__isnull=False,
                        due_date__isnull=False,
                    )
                    & ~models.Q(shown_sha256="")
                ),
                name="invoice_issued_is_complete",
            ),
            models.UniqueConstraint(
                fields=["work_order"], condition=models.Q(issued_at__isnull=True), name="invoice_one_draft"
            ),
        ]

    def __str__(self) -> str:
        return self.number or f"draft {self.pk}"


class InvoiceLine(PricedLine):
    """A billed line; it names the planned line that it bills."""

    invoice = models.ForeignKey(Invoice, on_delete=models.CASCADE, related_name="lines")
    plan_line = models.ForeignKey(
        "shopapp.QuoteLine", on_delete=models.PROTECT, related_name="invoice_lines", null=True, blank=True
    )
    amount_minor = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            *line_constraints("invoiceline"),
            models.UniqueConstraint(fields=["invoice", "position"], name="invoiceline_one_a_position"),
            models.UniqueConstraint(fields=["plan_line"], name="invoiceline_bills_a_plan_once"),
        ]

    def __str__(self) -> str:
        return f"line {self.position} of {self.invoice}"


class InvoiceTax(models.Model):
    """A row of an issued invoice's tax breakdown."""

    invoice = models.ForeignKey(Invoice, on_delete=models.CASCADE, related_name="taxes")
    name = models.CharField(max_length=40)
    category = models.CharField(max_length=2)
    rate_e6 = models.PositiveIntegerField()
    taxable_minor = models.BigIntegerField()
    tax_minor = models.BigIntegerField()
    exemption_reason = models.CharField(max_length=600, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["invoice", "category", "name", "rate_e6", "exemption_reason"],
                name="invoicetax_one_row_a_rate",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.invoice}"


class PaymentMethod(models.TextChoices):
    """How money came in."""

    CASH = "cash", _("cash")
    CARD = "card", _("card")
    TRANSFER = "transfer", _("bank transfer")
    CHEQUE = "cheque", _("cheque")


class Payment(models.Model):
    """Money received for an invoice; never changed."""

    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="payments")
    amount_minor = models.BigIntegerField()
    method = models.CharField(max_length=10, choices=PaymentMethod)
    note = models.CharField(max_length=200, blank=True)
    received_at = models.DateTimeField()
    taken_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(amount_minor__gt=0), name="payment_some"),
        ]

    def __str__(self) -> str:
        return f"payment {self.pk} for {self.invoice}"


class StoredPaper(models.Model):
    """A PDF that was made once from frozen content; the bytes lie in the paper store under their hash."""

    document = models.CharField(max_length=10, choices=[("quote", _("quote")), ("invoice", _("invoice"))])
    content_sha256 = models.CharField(max_length=64, unique=True)
    pdf_sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.document} {self.content_sha256[:12]}"
