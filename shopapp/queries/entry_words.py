"""What a tablet's entry says, in words for the desk: the kind, and each field as it was typed."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

KINDS: Mapping[str, Any] = {
    "part": _("Part used"),
    "planned": _("Used as planned"),
    "time": _("Hours"),
    "fluid": _("Fluid"),
    "note": _("Note"),
    "test": _("Test"),
    "reading": _("Reading"),
    "tick": _("Step ticked"),
    "photo": _("Photo"),
    "undo": _("Taken back"),
    "clock_on": _("Clocked on"),
    "clock_off": _("Clocked off"),
    "signature": _("Signature"),
}
FIELDS: Mapping[str, Any] = {
    "said_name": _("Name given"),
    "number": _("Part number"),
    "description": _("What it is"),
    "condition": _("Condition"),
    "quantity": _("How many"),
    "unit": _("Unit"),
    "work": _("What on"),
    "hours": _("Hours"),
    "minutes": _("Minutes"),
    "point": _("Where"),
    "product": _("Fluid"),
    "drained": _("Drained"),
    "filled": _("Filled"),
    "measure": _("Measured in"),
    "container": _("Went into"),
    "text": _("Note"),
    "reading": _("What was measured"),
    "value": _("Reading"),
    "second": _("Second figure"),
    "warmth": _("Engine"),
    "throttle": _("Throttle"),
    "remark": _("Remark"),
    "caption": _("What it shows"),
    "verdict": _("Is it right now?"),
    "conditions": _("How it was tested"),
    "rpm": _("rpm at full throttle"),
    "there": _("Speed one way"),
    "back": _("Speed back"),
    "speed_unit": _("Speed in"),
    "pitch": _("Pitch of the propeller, in inches"),
    "idle_temperature": _("Temperature at idle"),
    "full_temperature": _("Temperature at full throttle"),
    "temperature_unit": _("Temperature in"),
    "temperature_point": _("Measured where"),
    "load": _("On board"),
    "warnings": _("Warnings and alarms"),
    "fluid_seen": _("The gear oil afterwards"),
    "remarks": _("What was seen"),
    "what": _("Step"),
    "stage": _("Stage"),
    "fastener": _("Fastener, in the order of the stage"),
    "signed_name": _("Signed by"),
    "says": _("What was chosen"),
    "total": _("Total that was shown, with tax"),
    "reason": _("Why not"),
}
# ids that lead nowhere for a reader
UNSAID = frozenset(
    {
        *("line", "entry", "sha256", "mark", "step"),
        *("call", "revision", "shown_sha256", "consent_version", "seen", "strokes", "answer"),
        *("wants_parts_back", "offers_parts_back"),
    }
)
CHOICE = "choice-"
# more of one field would bury the others
LONGEST_SHOWN = 4_000


def kind_words(kind: str) -> str:
    """What kind of entry it is; a kind that is not known is named as it came."""
    return str(KINDS.get(kind, kind or _("Unreadable")))


def field_words(content: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Each field that says something, with its name."""
    return tuple(
        (_field_word(name), value[:LONGEST_SHOWN])
        for name, value in content.items()
        if value.strip() and name not in UNSAID and not name.startswith(CHOICE)
    )


def _field_word(name: str) -> str:
    """The figures of a reading by cylinder are ``value_1``, ``second_1`` and so on."""
    stem, _dash, number = name.rpartition("_")
    if stem in ("value", "second") and number.isdecimal():
        facts = {"what": FIELDS[stem], "number": number}
        return gettext("%(what)s, cylinder %(number)s") % facts
    return str(FIELDS.get(name, name))
