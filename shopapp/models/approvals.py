"""What a customer decided, on exactly which text and figures, and the links that let them decide."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class Decision(models.TextChoices):
    """The customer's answer to a revision."""

    APPROVED = "approved", _("approved")
    DECLINED = "declined", _("declined")


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

    class Meta:
        constraints = [
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


class CustomerLink(models.Model):
    """A door for a customer to one revision. Only the hash of its token is kept."""

    revision = models.ForeignKey("shopapp.QuoteRevision", on_delete=models.PROTECT, related_name="links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    created_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"link {self.pk} to {self.revision}"
