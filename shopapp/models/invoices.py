"""Invoices and payments. A draft has no number; an issued invoice never changes."""

from functools import reduce
from operator import or_

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.lines import PricedLine, line_constraints


def _exactly_one(names: tuple[str, ...]) -> models.Q:
    """Exactly one of these columns holds something."""
    one_each = [models.Q(**{f"{name}__isnull": name != filled for name in names}) for filled in names]
    return reduce(or_, one_each)


class InvoiceKind(models.TextChoices):
    """What the document is (EN 16931 BT-3: 380 and 381)."""

    INVOICE = "invoice", _("Invoice")
    CREDIT_NOTE = "credit_note", _("Credit note")


class Invoice(models.Model):
    """A bill, or the credit note that takes one back whole. What is printed is frozen when it is issued.

    A sale over the counter has no work order, and a customer only when they want their name on it. Amounts
    of a credit note are positive: its kind says which way they count.
    """

    kind = models.CharField(max_length=12, choices=InvoiceKind, default=InvoiceKind.INVOICE)
    credits = models.OneToOneField(
        "self", on_delete=models.PROTECT, related_name="credit_note", null=True, blank=True
    )
    credit_reason = models.CharField(max_length=300, blank=True)
    work_order = models.ForeignKey(
        "shopapp.WorkOrder", on_delete=models.PROTECT, related_name="invoices", null=True, blank=True
    )
    customer = models.ForeignKey(
        "shopapp.Customer", on_delete=models.PROTECT, related_name="invoices", null=True, blank=True
    )
    number = models.CharField(max_length=20, null=True, blank=True, unique=True)
    created_at = models.DateTimeField()
    issued_at = models.DateTimeField(null=True, blank=True)
    issue_date = models.DateField(null=True, blank=True)
    tax_date = models.DateField(null=True, blank=True)
    due_date = models.DateField(null=True, blank=True)
    purchase_order = models.CharField(max_length=60, blank=True)
    discount_e4 = models.PositiveIntegerField(default=0)
    discount_reason = models.CharField(max_length=200, blank=True)
    discount_minor = models.BigIntegerField(default=0)
    # deposits that were taken off when it was issued
    deposit_minor = models.BigIntegerField(default=0)
    # the owner bills more than was agreed
    over_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    over_reason = models.CharField(max_length=300, blank=True)
    # what could have been billed when somebody last looked at the draft: other work since stops the issue
    proposed_sha256 = models.CharField(max_length=64, blank=True)
    version = models.PositiveIntegerField(default=1)
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
            models.CheckConstraint(
                condition=models.Q(kind=InvoiceKind.INVOICE, credits__isnull=True)
                | (
                    models.Q(kind=InvoiceKind.CREDIT_NOTE, credits__isnull=False)
                    & ~models.Q(credit_reason="")
                ),
                name="invoice_credit_note_says_what_and_why",
            ),
            models.CheckConstraint(
                condition=models.Q(discount_e4=0)
                | (models.Q(discount_e4__lte=10_000) & ~models.Q(discount_reason="")),
                name="invoice_discount_has_a_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(over_by__isnull=True) | ~models.Q(over_reason=""),
                name="invoice_over_has_a_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(deposit_minor__gte=0)
                & models.Q(deposit_minor__lte=models.F("total_minor")),
                name="invoice_deposit_within_total",
            ),
        ]

    def __str__(self) -> str:
        return self.number or f"draft {self.pk}"


class LineOrigin(models.TextChoices):
    """Where a billed line comes from: a book, a rule, or a person at the desk."""

    PLAN = "plan", _("agreed price")
    ACTUAL = "actual", _("logged work")
    CEILING = "ceiling", _("above the agreed maximum")
    AGREED_DISCOUNT = "discount", _("discount of the quote")
    DIAGNOSIS_FEE = "fee", _("diagnosis fee")
    FEE_CREDIT = "fee_credit", _("diagnosis fee credited")
    ADDED = "added", _("added by hand")
    SOLD = "sold", _("sold over the counter")


class InvoiceLine(PricedLine):
    """A billed line: of a job, or of a sale over the counter. ``BilledSource`` holds what it bills."""

    invoice = models.ForeignKey(Invoice, on_delete=models.CASCADE, related_name="lines")
    origin = models.CharField(max_length=10, choices=LineOrigin, default=LineOrigin.PLAN)
    plan_line = models.ForeignKey(
        "shopapp.QuoteLine", on_delete=models.PROTECT, related_name="invoice_lines", null=True, blank=True
    )
    job = models.ForeignKey(
        "shopapp.Job", on_delete=models.PROTECT, related_name="invoice_lines", null=True, blank=True
    )
    part = models.ForeignKey(
        "shopapp.Part", on_delete=models.PROTECT, related_name="sales", null=True, blank=True
    )
    # why this line stands here, where it is not a plan line or a row of the actual book
    note = models.CharField(max_length=300, blank=True)
    amount_minor = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            *line_constraints("invoiceline"),
            models.UniqueConstraint(fields=["invoice", "position"], name="invoiceline_one_a_position"),
            models.CheckConstraint(condition=~models.Q(quantity_milli=0), name="invoiceline_some"),
        ]

    def __str__(self) -> str:
        return f"line {self.position} of {self.invoice}"


SOURCES = ("plan_line", "part_used", "time_entry", "fluid_entry", "sublet_entry", "fee_entry")


class BilledSource(models.Model):
    """What a billed line bills: one row of the plan or of the actual book, each billed once at a time.

    A credit note takes the claims of the invoice away, and what it billed may be billed again.
    """

    line = models.ForeignKey(InvoiceLine, on_delete=models.CASCADE, related_name="sources")
    plan_line = models.OneToOneField(
        "shopapp.QuoteLine", on_delete=models.PROTECT, related_name="billed", null=True, blank=True
    )
    part_used = models.OneToOneField(
        "shopapp.PartUsed", on_delete=models.PROTECT, related_name="billed", null=True, blank=True
    )
    time_entry = models.OneToOneField(
        "shopapp.TimeEntry", on_delete=models.PROTECT, related_name="billed", null=True, blank=True
    )
    fluid_entry = models.OneToOneField(
        "shopapp.FluidEntry", on_delete=models.PROTECT, related_name="billed", null=True, blank=True
    )
    sublet_entry = models.OneToOneField(
        "shopapp.SubletEntry", on_delete=models.PROTECT, related_name="billed", null=True, blank=True
    )
    fee_entry = models.OneToOneField(
        "shopapp.FeeEntry", on_delete=models.PROTECT, related_name="billed", null=True, blank=True
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=_exactly_one(SOURCES), name="billedsource_bills_one_row"),
        ]

    def __str__(self) -> str:
        return f"source {self.pk} of {self.line}"


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
    TRADE_IN = "trade_in", _("traded in")


class Payment(models.Model):
    """Money received: for an invoice, or as a deposit on a work order before there is one. Never changed.

    ``Allocation`` says which invoice it pays.
    """

    number = models.CharField(max_length=20, null=True, blank=True, unique=True)
    work_order = models.ForeignKey(
        "shopapp.WorkOrder", on_delete=models.PROTECT, related_name="payments", null=True, blank=True
    )
    invoice = models.ForeignKey(
        Invoice, on_delete=models.PROTECT, related_name="payments", null=True, blank=True
    )
    amount_minor = models.BigIntegerField()
    method = models.CharField(max_length=10, choices=PaymentMethod)
    note = models.CharField(max_length=200, blank=True)
    received_at = models.DateTimeField()
    taken_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(amount_minor__gt=0), name="payment_some"),
            models.CheckConstraint(
                condition=models.Q(work_order__isnull=False) | models.Q(invoice__isnull=False),
                name="payment_for_something",
            ),
        ]

    def __str__(self) -> str:
        return f"payment {self.pk} for {self.invoice or self.work_order}"


class Allocation(models.Model):
    """Which invoice a payment pays, and how much of it; taking it off again is a row below nought."""

    payment = models.ForeignKey(Payment, on_delete=models.PROTECT, related_name="allocations")
    invoice = models.ForeignKey(Invoice, on_delete=models.PROTECT, related_name="allocations")
    amount_minor = models.BigIntegerField()
    allocated_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(amount_minor=0), name="allocation_some"),
        ]

    def __str__(self) -> str:
        return f"{self.payment} on {self.invoice}"


class Refund(models.Model):
    """Money given back out of what a payment left over; never changed."""

    payment = models.ForeignKey(Payment, on_delete=models.PROTECT, related_name="refunds")
    amount_minor = models.BigIntegerField()
    method = models.CharField(max_length=10, choices=PaymentMethod)
    note = models.CharField(max_length=200, blank=True)
    given_at = models.DateTimeField()
    given_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(amount_minor__gt=0), name="refund_some")]

    def __str__(self) -> str:
        return f"refund {self.pk} of {self.payment}"


class PaperKind(models.TextChoices):
    """What is printed."""

    QUOTE = "quote", _("quote")
    INVOICE = "invoice", _("invoice")
    INTAKE = "intake", _("intake sheet")
    TAG = "tag", _("tag")
    APPROVAL = "approval", _("approval record")
    WORK_ORDER = "work_order", _("work order")
    CREDIT_NOTE = "credit_note", _("credit note")
    RECEIPT = "receipt", _("receipt")


class StoredPaper(models.Model):
    """A PDF that was made once from frozen content; the bytes lie in the paper store under their hash."""

    document = models.CharField(max_length=12, choices=PaperKind)
    content_sha256 = models.CharField(max_length=64, unique=True)
    pdf_sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.document} {self.content_sha256[:12]}"
