"""Tablets that the shop enrolled, the PINs of the people who work at them, and wrong tries of both."""

from django.db import models

LEAST_LOCK_MINUTES, MOST_LOCK_MINUTES = 10, 15
MOST_PIN_MISSES = 5
# once the PIN is shut the password is asked for: as often again, and not for ever
MOST_PASSWORD_MISSES = 5


class Device(models.Model):
    """A tablet that is itself signed in, and who works at it just now."""

    name = models.CharField(max_length=60)
    # only the hash: whoever reads the database can't pass for the tablet
    token_sha256 = models.CharField(max_length=64, unique=True)
    enrolled_by = models.ForeignKey("shopapp.Person", on_delete=models.PROTECT, related_name="+")
    enrolled_at = models.DateTimeField()
    seen_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    lock_minutes = models.PositiveSmallIntegerField(default=12)
    # its entries are numbered from 1: the highest number, how many came, how many missing the desk knows of
    last_sequence = models.PositiveIntegerField(default=0)
    sequences_here = models.PositiveIntegerField(default=0)
    gaps_known = models.PositiveIntegerField(default=0)
    # the stay of a person: who, since which PIN, and the hash of what the browser's session holds
    person = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    stay_sha256 = models.CharField(max_length=64, blank=True)
    opened_at = models.DateTimeField(null=True, blank=True)
    # the last touch; none while it is locked
    touched_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="device_has_a_name"),
            models.CheckConstraint(
                condition=models.Q(lock_minutes__gte=LEAST_LOCK_MINUTES, lock_minutes__lte=MOST_LOCK_MINUTES),
                name="device_locks_in_time",
            ),
            models.CheckConstraint(
                condition=models.Q(person__isnull=True, stay_sha256="", opened_at__isnull=True)
                | (models.Q(person__isnull=False, opened_at__isnull=False) & ~models.Q(stay_sha256="")),
                name="device_stay_is_whole",
            ),
            models.CheckConstraint(
                condition=models.Q(ended_at__isnull=True) | models.Q(person__isnull=True),
                name="device_ended_has_nobody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.pk})"


class Pin(models.Model):
    """The hash of a person's PIN."""

    person = models.OneToOneField("shopapp.Person", on_delete=models.CASCADE, related_name="pin")
    code = models.CharField(max_length=128)
    set_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"PIN of {self.person_id}"


class PinMiss(models.Model):
    """Tries of a person's PIN, and then password, at one tablet since the last right one."""

    person = models.ForeignKey("shopapp.Person", on_delete=models.CASCADE, related_name="pin_misses")
    device = models.ForeignKey(Device, on_delete=models.CASCADE, related_name="pin_misses")
    misses = models.PositiveSmallIntegerField(default=0)
    password_misses = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "device"], name="pinmiss_one_a_person_and_device"),
            models.CheckConstraint(
                condition=models.Q(misses__lte=MOST_PIN_MISSES, password_misses__lte=MOST_PASSWORD_MISSES),
                name="pinmiss_at_most",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.misses} misses of {self.person_id} at {self.device_id}"
