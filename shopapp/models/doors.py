"""The doors for staff: browsers in which somebody is signed in, and the second step of a sign-in."""

from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models


class BrowserSession(AbstractBaseSession):
    """A browser that the shop knows for a while; with a person once somebody signed in there.

    ``code`` stands for it in addresses: the key itself opens the door and is shown to nobody.
    """

    code = models.CharField(max_length=32, unique=True)
    person = models.ForeignKey(
        "shopapp.Person", on_delete=models.CASCADE, related_name="browser_sessions", null=True, blank=True
    )
    started_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField()
    address = models.CharField(max_length=64, blank=True)
    browser = models.CharField(max_length=300, blank=True)

    def __str__(self) -> str:
        return self.code


class SecondStep(models.Model):
    """A person's app that shows six digits. Its seed comes from ``salt`` and the app's own secret.

    So the database alone, or a backup, gives no codes. ``last_step`` is the last half minute whose digits
    were used: none is taken twice.
    """

    person = models.OneToOneField("shopapp.Person", on_delete=models.CASCADE, related_name="second_step")
    salt = models.CharField(max_length=64)
    last_step = models.PositiveBigIntegerField(default=0)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"second step of {self.person}"


class RecoveryCode(models.Model):
    """A code on paper for a lost telephone; only its keyed hash is kept, and it works once."""

    second_step = models.ForeignKey(SecondStep, on_delete=models.CASCADE, related_name="codes")
    digest = models.CharField(max_length=64, unique=True)
    used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"code {self.pk}"
