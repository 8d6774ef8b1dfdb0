"""What a customer decided, on exactly which text and figures, and the links that let them decide."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Decision(models.TextChoices):
    """The customer's answer to a revision."""

    APPROVED = "approved", _("approved")
    DECLINED = "declined", _("declined")


class AnswerHow(models.TextChoices):
    """How a customer gave their answer."""

    SIGNED_HERE = "here", _("signed here")
    LINK = "link", _("by link")
    PHONE = "phone", _("by telephone")
    EMAIL = "email", _("by email")
    DOCK = "dock", _("signed at a tablet without a connection")


SPOKEN = (AnswerHow.PHONE, AnswerHow.EMAIL)


class Approval(models.Model):
    """A customer's answer to one revision; it never changes."""

    revision = models.OneToOneField(
        "shopapp.QuoteRevision", on_delete=models.PROTECT, related_name="approval"
    )
    decision = models.CharField(max_length=10, choices=Decision)
    without_tax_minor = models.BigIntegerField()
    with_tax_minor = models.BigIntegerField()
    signed_name = models.CharField(max_length=120)
    strokes = models.TextField(blank=True)
    reason = models.TextField(blank=True)
    decided_at = models.DateTimeField()
    witness = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    address = models.GenericIPAddressField(null=True, blank=True)
    device = models.CharField(max_length=300, blank=True)
    signed_sha256 = models.CharField(max_length=64)
    how = models.CharField(max_length=6, choices=AnswerHow, default=AnswerHow.SIGNED_HERE)
    # ``recorded_at`` also of one that was signed without a connection: when the shop received it
    # what an answer that nobody signed must record: number or address, extra work, its amount, new total
    called_number = models.CharField(max_length=120, blank=True)
    extra_work = models.TextField(blank=True)
    extra_minor = models.BigIntegerField(null=True, blank=True)
    new_total_minor = models.BigIntegerField(null=True, blank=True)
    relation = models.CharField(max_length=60, blank=True)
    recorded_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    recorded_at = models.DateTimeField(null=True, blank=True)
    wants_parts_back = models.BooleanField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(how__in=SPOKEN)
                | (
                    ~models.Q(called_number="")
                    & models.Q(recorded_by__isnull=False, recorded_at__isnull=False)
                    & (
                        models.Q(decision=Decision.DECLINED)
                        | (
                            ~models.Q(extra_work="")
                            & models.Q(extra_minor__isnull=False, new_total_minor__isnull=False)
                        )
                    )
                ),
                name="approval_spoken_has_its_facts",
            ),
            models.CheckConstraint(condition=~models.Q(signed_name=""), name="approval_is_signed"),
            models.CheckConstraint(
                condition=models.Q(decision=Decision.APPROVED) | models.Q(with_tax_minor=0),
                name="approval_declined_is_nil",
            ),
        ]

    def __str__(self) -> str:
        return f"answer to {self.revision}"


class ApprovedChoice(models.Model):
    """What was chosen for one job: an option, or not now."""

    approval = models.ForeignKey(Approval, on_delete=models.PROTECT, related_name="choices")
    choice = models.OneToOneField("shopapp.QuoteChoice", on_delete=models.PROTECT, related_name="answer")
    option = models.ForeignKey(
        "shopapp.QuoteOption", on_delete=models.PROTECT, related_name="answers", null=True, blank=True
    )

    def __str__(self) -> str:
        return f"{self.choice}: {self.option or 'not now'}"


class LinkPurpose(models.TextChoices):
    """Who holds the door open."""

    COUNTER = "counter", _("the shop's tablet")
    PHONE = "phone", _("the customer's own phone")


class CustomerLink(models.Model):
    """A door for a customer to one revision or one intake. Only the hash of its token is kept."""

    revision = models.ForeignKey(
        "shopapp.QuoteRevision", on_delete=models.PROTECT, related_name="links", null=True, blank=True
    )
    intake = models.ForeignKey(
        "shopapp.Intake", on_delete=models.PROTECT, related_name="links", null=True, blank=True
    )
    purpose = models.CharField(max_length=8, choices=LinkPurpose, default=LinkPurpose.COUNTER)
    # where the link was sent, for the record of the answer
    sent_to = models.CharField(max_length=120, blank=True)
    token_sha256 = models.CharField(max_length=64, unique=True)
    created_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(revision__isnull=False, intake__isnull=True)
                | models.Q(revision__isnull=True, intake__isnull=False),
                name="customerlink_to_one_document",
            ),
        ]

    def __str__(self) -> str:
        return f"link {self.pk} to {self.revision or self.intake}"


class Question(models.Model):
    """What a customer asks about a quote before answering it, and what the shop said."""

    revision = models.ForeignKey("shopapp.QuoteRevision", on_delete=models.PROTECT, related_name="questions")
    link = models.ForeignKey(
        CustomerLink, on_delete=models.PROTECT, related_name="questions", null=True, blank=True
    )
    text = models.TextField()
    asked_at = models.DateTimeField()
    answer = models.TextField(blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [models.CheckConstraint(condition=~models.Q(text=""), name="question_is_written")]

    def __str__(self) -> str:
        return f"question {self.pk} about {self.revision}"


class MissCount(models.Model):
    """How many addresses that open nothing were tried from one place; shared by all workers."""

    address = models.CharField(max_length=64, unique=True)
    since_at = models.DateTimeField()
    misses = models.PositiveIntegerField(default=0)
    is_told = models.BooleanField(default=False)

    def __str__(self) -> str:
        return f"{self.misses} misses"
