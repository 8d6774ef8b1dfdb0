"""Amounts and counts within bounds, or a sentence at the field that says which."""

from decimal import Decimal

from django.utils.translation import gettext as _

from shopapp.calc.errors import BadInput
from shopapp.calc.money import to_minor


def amount_minor(field: str, amount: Decimal, *, currency: str) -> int:
    """An amount of 0 or more in whole coins. Raises BadInput at the field."""
    if amount < 0:
        raise BadInput(field, amount, _("0 or more"))
    return to_minor(amount, currency=currency, field=field)


def require_within(field: str, value: int, *, least: int = 0, most: int) -> None:
    """Raises BadInput at the field unless the whole number lies between the bounds, both included."""
    if not least <= value <= most:
        accepted = _("a whole number from %(least)s to %(most)s") % {"least": least, "most": most}
        raise BadInput(field, value, accepted)
