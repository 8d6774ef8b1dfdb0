"""The append-only record of who did what, chained by hash; request keys; number series; search text."""

from django.db import models


class Activity(models.Model):
    """One thing that somebody did. Rows are never changed, but payload and salt may be erased."""

    seq = models.PositiveBigIntegerField(unique=True)
    happened_at = models.DateTimeField()
    actor = models.CharField(max_length=40)
    actor_name = models.CharField(max_length=120)
    scope = models.CharField(max_length=10)
    verb = models.CharField(max_length=40)
    record = models.CharField(max_length=60)
    work_order = models.ForeignKey(
        "shopapp.WorkOrder", on_delete=models.PROTECT, related_name="activity", null=True, blank=True
    )
    salt = models.CharField(max_length=32, null=True)
    payload = models.TextField(null=True)
    payload_sha256 = models.CharField(max_length=64)
    chain_hash = models.CharField(max_length=64)

    class Meta:
        indexes = [
            models.Index(fields=["record", "seq"], name="activity_record_seq"),
            models.Index(fields=["actor", "-seq"], name="activity_actor_newest"),
        ]

    def __str__(self) -> str:
        return f"{self.seq} {self.verb} {self.record}"


class ActivityHead(models.Model):
    """The last link of the chain; locked last in each action."""

    seq = models.PositiveBigIntegerField(default=0)
    chain_hash = models.CharField(max_length=64)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="activityhead_only_one")]

    def __str__(self) -> str:
        return f"head at {self.seq}"


class RequestKey(models.Model):
    """The key of a request that changed something, with its outcome, stored in the same transaction."""

    key = models.UUIDField(unique=True)
    claim = models.UUIDField()
    actor = models.CharField(max_length=40)
    route = models.CharField(max_length=200)
    payload_sha256 = models.CharField(max_length=64)
    location = models.CharField(max_length=300, blank=True)
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return str(self.key)


class NumberSeries(models.Model):
    """A series of document numbers without gaps; its row is locked while one is taken."""

    code = models.CharField(max_length=20, unique=True)
    prefix = models.CharField(max_length=12)
    digits = models.PositiveSmallIntegerField(default=5)
    next_value = models.PositiveBigIntegerField(default=1)

    def __str__(self) -> str:
        return self.code


class SearchText(models.Model):
    """The words by which a record is found, normalised; rebuilt wherever activity is written."""

    kind = models.CharField(max_length=20)
    record_id = models.PositiveBigIntegerField()
    words = models.TextField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "record_id"], name="searchtext_once_a_record")]

    def __str__(self) -> str:
        return f"{self.kind} {self.record_id}"
