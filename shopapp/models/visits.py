"""What belongs to a visit beside its jobs: the people on it, what was signed at arrival, holds, custody."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from shopapp.models.work_orders import Hold


class PartInVisit(models.TextChoices):
    """What somebody other than the owner has to do with a visit."""

    BRINGER = "bringer", _("Brings the boat")
    APPROVER = "approver", _("Says yes to the work")
    PAYER = "payer", _("Pays")
    COLLECTOR = "collector", _("Collects the boat")


class VisitPerson(models.Model):
    """Somebody on a work order beside the owner. Who pays is a customer, since the bill is theirs."""

    work_order = models.ForeignKey("shopapp.WorkOrder", on_delete=models.PROTECT, related_name="people")
    part = models.CharField(max_length=10, choices=PartInVisit)
    customer = models.ForeignKey(
        "shopapp.Customer", on_delete=models.PROTECT, related_name="parts_in_visits", null=True, blank=True
    )
    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    # an approver may be trusted up to an amount, without tax
    up_to_minor = models.BigIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["work_order", "part"], name="visitperson_one_a_part"),
            models.CheckConstraint(condition=~models.Q(name=""), name="visitperson_has_a_name"),
            models.CheckConstraint(
                condition=~models.Q(part=PartInVisit.PAYER) | models.Q(customer__isnull=False),
                name="visitperson_payer_is_a_customer",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} of {self.work_order}: {self.name}"


class SignedHow(models.TextChoices):
    """How the intake was signed."""

    TABLET = "tablet", _("on the shop's tablet")
    PAPER = "paper", _("on paper, kept in the shop")


class Intake(models.Model):
    """On what terms a boat was taken in. Once signed it never changes; other terms are another intake."""

    work_order = models.ForeignKey("shopapp.WorkOrder", on_delete=models.PROTECT, related_name="intakes")
    diagnosis_fee_minor = models.BigIntegerField(default=0)
    spending_limit_minor = models.BigIntegerField(default=0)
    limit_comes_on_top = models.BooleanField(default=False)
    may_run = models.BooleanField(default=False)
    may_move = models.BooleanField(default=False)
    may_launch = models.BooleanField(default=False)
    wants_parts_back = models.BooleanField(default=False)
    created_at = models.DateTimeField()
    signed_at = models.DateTimeField(null=True, blank=True)
    signed_how = models.CharField(max_length=8, choices=SignedHow, blank=True)
    signed_name = models.CharField(max_length=120, blank=True)
    strokes = models.TextField(blank=True)
    witness = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    address = models.GenericIPAddressField(null=True, blank=True)
    device = models.CharField(max_length=300, blank=True)
    # what was shown before the signature: canonical text, its hash, and the hash over text and signature
    shown = models.TextField(blank=True)
    shown_sha256 = models.CharField(max_length=64, blank=True)
    signed_sha256 = models.CharField(max_length=64, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(signed_at__isnull=True, signed_name="", shown_sha256="", signed_sha256="")
                | (
                    models.Q(signed_at__isnull=False)
                    & ~models.Q(signed_name="")
                    & ~models.Q(signed_how="")
                    & ~models.Q(shown_sha256="")
                    & ~models.Q(signed_sha256="")
                ),
                name="intake_signed_is_complete",
            ),
            models.CheckConstraint(
                condition=models.Q(diagnosis_fee_minor__gte=0, spending_limit_minor__gte=0),
                name="intake_amounts_not_negative",
            ),
            models.UniqueConstraint(
                fields=["work_order"], condition=models.Q(signed_at__isnull=True), name="intake_one_unsigned"
            ),
        ]

    def __str__(self) -> str:
        return f"intake {self.pk} of {self.work_order}"


class PlacedHold(models.Model):
    """What a visit, or one job of it, waits for: who chases it and when next."""

    work_order = models.ForeignKey("shopapp.WorkOrder", on_delete=models.PROTECT, related_name="holds")
    job = models.ForeignKey(
        "shopapp.Job", on_delete=models.PROTECT, related_name="holds", null=True, blank=True
    )
    kind = models.CharField(max_length=10, choices=Hold)
    note = models.CharField(max_length=300, blank=True)
    chaser = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="chases")
    chase_date = models.DateField()
    placed_at = models.DateTimeField()
    placed_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(kind__in=Hold.values), name="placedhold_kind_known"),
        ]
        indexes = [
            models.Index(
                fields=["chase_date"],
                condition=models.Q(released_at__isnull=True),
                name="placedhold_to_chase",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} holds {self.work_order}"


class Thing(models.TextChoices):
    """What the shop holds for a customer."""

    BOAT = "boat", _("Boat")
    TRAILER = "trailer", _("Trailer")
    KEYS = "keys", _("Keys")
    GEAR = "gear", _("Loose gear")


class CustodyMove(models.TextChoices):
    """Which way it went."""

    IN = "in", _("came in")
    OUT = "out", _("went out")
    MOVED = "moved", _("was moved")


class CustodyEntry(models.Model):
    """One thing came in, went out or was moved; rows are only added."""

    work_order = models.ForeignKey("shopapp.WorkOrder", on_delete=models.PROTECT, related_name="custody")
    thing = models.CharField(max_length=8, choices=Thing)
    move = models.CharField(max_length=6, choices=CustodyMove)
    # who brought it or took it; where it stands, or where it went
    who = models.CharField(max_length=120, blank=True)
    place = models.CharField(max_length=80, blank=True)
    note = models.CharField(max_length=300, blank=True)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(move=CustodyMove.OUT) | ~models.Q(who=""),
                name="custodyentry_out_to_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.thing} {self.move} of {self.work_order}"
