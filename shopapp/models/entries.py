"""What tablets send: each entry once, as written, and whether it is in the books; keys that sign them."""

from django.db import models
from django.utils.translation import gettext_lazy as _

# a key signs what its person writes within so many hours of giving their PIN
KEY_HOURS = 12


class TabletKey(models.Model):
    """Given to a tablet when somebody's PIN was right; its secret follows from its id and is never stored."""

    id = models.UUIDField(primary_key=True)
    device = models.ForeignKey("shopapp.Device", on_delete=models.PROTECT, related_name="keys")
    person = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="tablet_keys")
    issued_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"key {self.pk} of {self.person_id} at {self.device_id}"


class EntryState(models.TextChoices):
    """What became of an entry."""

    STORED = "stored", _("in the books")
    REVIEW = "review", _("to be looked at")
    TAKEN = "taken", _("taken in by the desk")
    SET_ASIDE = "set_aside", _("set aside")


class TabletEntry(models.Model):
    """One thing logged at a tablet, as the tablet wrote it down; never changed, never dropped."""

    # what the tablet calls it; none where the same id came with another text
    entry_id = models.UUIDField(unique=True, null=True, blank=True)
    text = models.TextField()
    text_sha256 = models.CharField(max_length=64, unique=True)
    signature = models.CharField(max_length=64, blank=True)
    claim = models.UUIDField()
    # the tablet that sent it
    device = models.ForeignKey("shopapp.Device", on_delete=models.PROTECT, related_name="entries")
    # as it stands in the text, where it can be read
    sequence = models.PositiveIntegerField(null=True, blank=True)
    kind = models.CharField(max_length=20, blank=True)
    person = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="tablet_entries", null=True, blank=True
    )
    job = models.ForeignKey(
        "shopapp.Job", on_delete=models.PROTECT, related_name="tablet_entries", null=True, blank=True
    )
    tablet_at = models.DateTimeField(null=True, blank=True)
    # the tablet's time put right by the server's, not before the enrolment and not after the receipt
    happened_at = models.DateTimeField()
    received_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=EntryState, default=EntryState.REVIEW)
    reason = models.CharField(max_length=300, blank=True)
    # an entry that takes another one back, whether or not that one is here yet
    undoes = models.UUIDField(null=True, blank=True, db_index=True)
    # the row that it became: part_used-7
    row = models.CharField(max_length=40, blank=True)
    settled_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_reason = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(state__in=EntryState.values), name="tabletentry_known"),
            models.CheckConstraint(
                condition=~models.Q(state=EntryState.REVIEW) | ~models.Q(reason=""),
                name="tabletentry_review_says_why",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    state__in=(EntryState.STORED, EntryState.REVIEW),
                    settled_by__isnull=True,
                    settled_at__isnull=True,
                )
                | models.Q(
                    state__in=(EntryState.TAKEN, EntryState.SET_ASIDE),
                    settled_by__isnull=False,
                    settled_at__isnull=False,
                ),
                name="tabletentry_settled_says_by_whom",
            ),
            models.CheckConstraint(
                condition=~models.Q(state=EntryState.SET_ASIDE) | ~models.Q(settled_reason=""),
                name="tabletentry_set_aside_says_why",
            ),
        ]
        indexes = [
            models.Index(fields=["device", "sequence"], name="tabletentry_device_sequence"),
            models.Index(fields=["state", "received_at"], name="tabletentry_state"),
        ]

    def __str__(self) -> str:
        return f"entry {self.pk} of tablet {self.device_id}"


class JobNote(models.Model):
    """Something that was seen or done at a job, in somebody's own words; read by the shop alone."""

    job = models.ForeignKey("shopapp.Job", on_delete=models.PROTECT, related_name="notes")
    text = models.TextField()
    written_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(text=""), name="jobnote_says_something"),
            models.CheckConstraint(
                condition=models.Q(struck_at__isnull=True, struck_by__isnull=True)
                | models.Q(struck_at__isnull=False, struck_by__isnull=False),
                name="jobnote_struck_says_by_whom",
            ),
        ]

    def __str__(self) -> str:
        return f"note {self.pk} on {self.job}"
