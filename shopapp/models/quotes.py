"""Quotes: revisions, one choice per job, options to choose from, and the planned lines of each option."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.lines import PricedLine, line_constraints


class Way(models.TextChoices):
    """The ways of putting a fault right."""

    MEND = "mend", _("Mend the part")
    EXCHANGE = "exchange", _("Exchange unit")
    NEW = "new", _("New part")
    USED = "used", _("Used part")
    LEAVE = "leave", _("Leave it")


class RevisionState(models.TextChoices):
    """Where a revision stands."""

    DRAFT = "draft", _("being written")
    SENT = "sent", _("with the customer")
    DECIDED = "decided", _("decided")
    REPLACED = "replaced", _("replaced by a newer one")
    DISCARDED = "discarded", _("thrown away")


# what no customer ever saw: it has nothing frozen, and is no proof of anything
UNSENT = (RevisionState.DRAFT, RevisionState.DISCARDED)


class Quote(models.Model):
    """An offer on a work order; its number stays the same through its revisions."""

    work_order = models.ForeignKey("shopapp.WorkOrder", on_delete=models.PROTECT, related_name="quotes")
    number = models.CharField(max_length=20, unique=True)
    # a supplement asks for extra work: it adds to what is approved and replaces nothing
    is_supplement = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.number


class QuoteRevision(models.Model):
    """One version of a quote. Once sent, what was shown never changes."""

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="revisions")
    revision = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=10, choices=RevisionState, default=RevisionState.DRAFT)
    created_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    tax_date = models.DateField(null=True, blank=True)
    valid_until_date = models.DateField(null=True, blank=True)
    shown = models.TextField(blank=True)
    shown_sha256 = models.CharField(max_length=64, blank=True)
    # a discount on the whole of what is chosen, as a share, with its reason
    discount_e4 = models.PositiveIntegerField(default=0)
    discount_reason = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(discount_e4=0)
                | (models.Q(discount_e4__lte=10_000) & ~models.Q(discount_reason="")),
                name="quoterevision_discount_has_a_reason",
            ),
            models.UniqueConstraint(fields=["quote", "revision"], name="quoterevision_one_a_number"),
            models.CheckConstraint(
                condition=models.Q(state__in=UNSENT)
                | (models.Q(sent_at__isnull=False) & ~models.Q(shown_sha256="")),
                name="quoterevision_sent_is_frozen",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quote} revision {self.revision}"


class QuoteChoice(models.Model):
    """The question a revision asks about one job."""

    revision = models.ForeignKey(QuoteRevision, on_delete=models.CASCADE, related_name="choices")
    job = models.ForeignKey("shopapp.Job", on_delete=models.PROTECT, related_name="choices")
    position = models.PositiveSmallIntegerField(default=1)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["revision", "job"], name="quotechoice_once_a_job")]

    def __str__(self) -> str:
        return f"choice {self.pk} of {self.revision}"


class QuoteOption(models.Model):
    """One way of putting a job right, in words the customer understands."""

    choice = models.ForeignKey(QuoteChoice, on_delete=models.CASCADE, related_name="options")
    position = models.PositiveSmallIntegerField()
    way = models.CharField(max_length=10, choices=Way)
    title = models.CharField(max_length=80)
    explanation = models.TextField(blank=True)
    left_out = models.TextField(blank=True)
    days = models.PositiveSmallIntegerField()
    warranty_months = models.PositiveSmallIntegerField()
    warranty_covers = models.CharField(max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["choice", "position"], name="quoteoption_one_a_position"),
            models.CheckConstraint(condition=~models.Q(title=""), name="quoteoption_has_a_title"),
        ]

    def __str__(self) -> str:
        return f"option {self.position} of {self.choice}"


class QuoteLine(PricedLine):
    """A planned line. Its cost is for the owner's eyes."""

    option = models.ForeignKey(QuoteOption, on_delete=models.CASCADE, related_name="lines")
    unit_cost_e4 = models.BigIntegerField(null=True, blank=True)
    # the line that brings an option up to the shop's minimum charge
    is_minimum_charge = models.BooleanField(default=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            *line_constraints("quoteline"),
            models.CheckConstraint(condition=models.Q(quantity_milli__gt=0), name="quoteline_some"),
            models.UniqueConstraint(fields=["option", "position"], name="quoteline_one_a_position"),
        ]

    def __str__(self) -> str:
        return f"line {self.position} of {self.option}"
