"""Shows money, quantities and days in the shop's way; the key that makes a form safe to send twice."""

import uuid
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shopapp.calc.money import format_money, format_number

register = template.Library()


@register.simple_tag
def once_key() -> SafeString:
    """A hidden field with a fresh request key."""
    return format_html('<input type="hidden" name="once_key" value="{}">', uuid.uuid4())


@register.simple_tag(takes_context=True)
def money(context: template.Context, amount: Decimal | None) -> str:
    """An amount in the shop's currency and locale; a dash when there is none."""
    if amount is None:
        return "–"
    display = context["display"]
    return format_money(amount, currency=display.currency, locale=display.locale)


@register.simple_tag(takes_context=True)
def number(context: template.Context, value: Any) -> str:
    """A number in the shop's locale."""
    return format_number(Decimal(value), locale=context["display"].locale)


@register.simple_tag(takes_context=True)
def day(context: template.Context, value: date | None) -> str:
    """A day that cannot be misread."""
    return context["display"].day(value) if value is not None else "–"


@register.simple_tag(takes_context=True)
def moment(context: template.Context, value: datetime | None) -> str:
    """A moment in the shop's own time."""
    return context["display"].moment(value) if value is not None else "–"
