"""The way of an edit form: valid, sent once, and told apart from what somebody else saved meanwhile."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.http import HttpRequest, QueryDict
from django.utils.translation import gettext as _

from shopapp.actions.actor import Actor
from shopapp.actions.refusals import Stale
from shopapp.calc.money import format_number
from shopapp.queries.versions import Conflict, Difference, conflict_over
from shopapp.web.shared.forms import ShopForm
from shopapp.web.shared.moments import MomentField
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What to answer: an address to go to, or the form again, perhaps with what somebody else saved."""

    status: int = 200
    location: str = ""
    conflict: Conflict | None = None


def sent_edit(
    request: HttpRequest,
    *,
    form: ShopForm,
    deed: Callable[[], str],
    by: Actor,
    values_of: Callable[[Any], Mapping[str, Any]],
) -> Outcome:
    """Run the deed of a sent form once.

    When somebody else saved first, the form keeps what was typed and takes the new version, so that sending
    it again on purpose works. ``values_of`` gives a row's values by the names of the form's fields.
    """
    if request.method != "POST":
        return Outcome()
    if not form.is_valid():
        return Outcome(status=422)
    try:
        location = attempt(form, lambda: once(request, deed, by=by))
    except Stale as stale:
        return Outcome(
            status=409, conflict=_conflict(form, record=stale.record, saved=values_of(stale.record))
        )
    return Outcome(location=location) if location else Outcome(status=422)


def _conflict(form: ShopForm, *, record: Any, saved: Mapping[str, Any]) -> Conflict:
    typed = form.cleaned_data
    differences = [
        Difference(
            label=str(form[name].label),
            saved=_shown(form.fields[name], value=saved[name]),
            typed=_shown(form.fields[name], value=typed[name]),
        )
        for name in saved
        if saved[name] != typed[name]
    ]
    data = cast("QueryDict", form.data).copy()
    data["version"] = str(record.version)
    form.data = data
    return conflict_over(record, differences=differences)


def _shown(field: forms.Field, *, value: Any) -> str:
    if value in (None, ""):
        return "–"
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(field, forms.ChoiceField):
        return str(dict(field.choices).get(value, value))  # type: ignore[arg-type]
    if isinstance(field, MomentField):
        return f"{value.astimezone(field.zone):%Y-%m-%d %H:%M}"
    locale = getattr(field, "locale", "en")
    return format_number(value, locale=locale) if isinstance(value, Decimal) else str(value)
