"""People of the shop: who signs in, which roles they hold, and what their hour costs over time."""

from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models


class PersonManager(BaseUserManager["Person"]):
    """Finds a person by the name they sign in with."""


class Person(AbstractBaseUser):
    """Someone who works here. Roles add up: an owner may also be a technician."""

    username = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    is_front_desk = models.BooleanField(default=False)
    is_technician = models.BooleanField(default=False)
    is_owner = models.BooleanField(default=False)
    is_active = models.BooleanField(default=True)
    # until when a password that somebody else gave lets this person in, to set their own and do nothing else
    first_until = models.DateTimeField(null=True, blank=True)

    objects: ClassVar[PersonManager] = PersonManager()

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="person_has_a_name"),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.username})"


class Wage(models.Model):
    """What an hour of a person costs from a day on: wage, and burden on top as a share."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="wages")
    from_date = models.DateField()
    hourly_e4 = models.BigIntegerField()
    burden_e4 = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "from_date"], name="wage_one_a_day"),
            models.CheckConstraint(condition=models.Q(hourly_e4__gte=0), name="wage_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.person} from {self.from_date}"
