"""Rows that are struck out where they are wrong: they stay readable, and count no more."""

from django.db import models


class Struck(models.Model):
    """By whom, when and why a row was struck out; empty while it stands."""

    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.ForeignKey(
        "shopapp.Person", on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    struck_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        abstract = True


def struck_constraint(table: str) -> models.CheckConstraint:
    """A struck row says by whom and why, named for its table."""
    return models.CheckConstraint(
        condition=models.Q(struck_at__isnull=True, struck_by__isnull=True)
        | (models.Q(struck_at__isnull=False, struck_by__isnull=False) & ~models.Q(struck_reason="")),
        name=f"{table}_struck_says_by_whom_and_why",
    )
