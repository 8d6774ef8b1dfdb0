"""The part of the counter's form about engines: known ones, a new one, twins and triples."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.arrivals import ArrivingEngine
from shopapp.actions.engines import EngineInput, HoursInput
from shopapp.models import EnginePosition, HoursSource, SerialState
from shopapp.queries.engines import MountedEngine
from shopapp.web.shared.forms import NumberField, ShopForm
from shopapp.web.shared.text_fields import LineField

NEW = "new"
NONE = "none"
PORT, CENTRE, STARBOARD = EnginePosition.PORT, EnginePosition.CENTRE, EnginePosition.STARBOARD
# how many there are → where they hang, and the beginnings of their fields' names
PLACES: dict[str, tuple[tuple[EnginePosition, str], ...]] = {
    "2": ((PORT, ""), (STARBOARD, "starboard_")),
    "3": ((PORT, ""), (CENTRE, "centre_"), (STARBOARD, "starboard_")),
}
_TYPED = ("engine_make", "engine_model", "serial", "centre_serial", "starboard_serial")
_BESIDE = ("centre_", "starboard_")


class HoursField(NumberField):
    """Running hours, with one decimal."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(decimals=1, least=Decimal(0), most=Decimal("99999.9"), required=False, **kwargs)


class SerialField(LineField):
    """A serial as it was read."""

    widget = forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"})

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=60, required=False, **kwargs)


class EngineFields(ShopForm):
    """What the complaint is about. Twins and triples share make and model and are written down together."""

    engine = forms.MultipleChoiceField(
        label=_("What is it about?"), widget=forms.CheckboxSelectMultiple, required=True
    )
    engine_count = forms.ChoiceField(
        label=_("How many engines?"),
        choices=[("1", _("One")), ("2", _("Twins")), ("3", _("Triples"))],
        widget=forms.RadioSelect,
        initial="1",
        required=False,
    )
    engine_make = LineField(label=_("Make of the engine"), max_length=80, required=False)
    engine_model = LineField(label=_("Model of the engine"), max_length=80, required=False)
    serial = SerialField(label=_("Serial"))
    serial_state = forms.ChoiceField(
        label=_("The serial plate"), choices=[("", "–"), *SerialState.choices], required=False
    )
    position = forms.ChoiceField(
        label=_("Place on the transom"), choices=EnginePosition.choices, required=False
    )
    hours = HoursField(label=_("Hours"))
    centre_serial = SerialField(label=_("Serial of the centre engine"))
    centre_hours = HoursField(label=_("Hours of the centre engine"))
    starboard_serial = SerialField(label=_("Serial of the starboard engine"))
    starboard_hours = HoursField(label=_("Hours of the starboard engine"))
    about = forms.MultipleChoiceField(
        label=_("Which of them is it about?"),
        choices=[(place.value, place.label) for place in (PORT, CENTRE, STARBOARD)],
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    hours_source = forms.ChoiceField(
        label=_("Hours read from"),
        choices=[("", "–"), *HoursSource.choices],
        required=False,
        help_text=_("Needed where hours are written."),
    )

    def offer_engines(self, engines: Sequence[MountedEngine]) -> None:
        """The known engines of the boat, each with a field for its hours; a single one is chosen."""
        self.known = engines
        choices = [(str(engine.pk), _choice(engine)) for engine in engines]
        other = _("Another engine") if engines else _("An engine: write down below what you know")
        field = self.fields["engine"]
        if isinstance(field, forms.ChoiceField):
            field.choices = [*choices, (NEW, str(other)), (NONE, str(_("The boat itself, no engine")))]
        self.initial["engine"] = [str(engines[0].pk)] if len(engines) == 1 else [] if engines else [NEW]
        for engine in engines:
            hours = HoursField(label=str(_("Hours of %s now") % _choice(engine)))
            hours.locale = getattr(self.fields["hours"], "locale", "en")
            self.fields[hours_of(engine.pk)] = hours

    @property
    def known_hours(self) -> list[forms.BoundField]:
        """The fields for the hours of the known engines."""
        return [self[hours_of(engine.pk)] for engine in self.known]

    @property
    def is_another_chosen(self) -> bool:
        """The fold for another engine stands open."""
        return NEW in (self["engine"].value() or [])

    def check_engines(self) -> None:
        """What can't be told from one field alone."""
        typed = self.cleaned_data
        chosen = typed.get("engine", [])
        if self._is_typed() and NEW not in chosen and self.known:
            self.add_error(
                "engine", _("You wrote down another engine below. Choose it here, or empty it there.")
            )
        if typed.get("hours") is not None and not self._is_new():
            self.add_error("engine", _("Choose the engine that has these hours."))
        if self._any_hours() and not typed.get("hours_source", "x"):
            self.add_error("hours_source", _("Say where the hours come from."))
        if typed.get("serial_state") == SerialState.READ and not typed.get("serial", "x"):
            self.add_error("serial", _("Write the serial, or say that the plate was not read."))
        self._check_count(chosen)

    def _check_count(self, chosen: Sequence[str]) -> None:
        places = PLACES.get(self.cleaned_data.get("engine_count", ""), ())
        meant = {beginning for _place, beginning in places}
        extra = [one for one in _BESIDE if one not in meant and self._is_filled(one)]
        if extra:
            self.add_error("engine_count", _("You wrote down more engines than this."))
        about = set(self.cleaned_data.get("about", []))
        if places and NEW in chosen and not about & {place.value for place, _beginning in places}:
            self.add_error("about", _("Say which of the engines it is about."))

    def _is_filled(self, beginning: str) -> bool:
        typed = self.cleaned_data
        return bool(typed.get(f"{beginning}serial")) or typed.get(f"{beginning}hours") is not None

    def _is_typed(self) -> bool:
        return any(self.cleaned_data.get(name) for name in _TYPED)

    def _is_new(self) -> bool:
        """A new engine is to be written down: it is chosen, or the boat has none and one was described."""
        return NEW in self.cleaned_data.get("engine", []) or (self._is_typed() and not self.known)

    def _any_hours(self) -> bool:
        names = ["hours", "centre_hours", "starboard_hours", *(hours_of(one.pk) for one in self.known)]
        return any(self.cleaned_data.get(name) is not None for name in names)

    def arriving(self) -> tuple[ArrivingEngine, ...]:
        """Every engine that the page tells something of: chosen, read, or new."""
        chosen = self.cleaned_data["engine"]
        known = [
            ArrivingEngine(engine=one.pk, hours=self._read(hours_of(one.pk)), is_about=str(one.pk) in chosen)
            for one in self.known
            if str(one.pk) in chosen or self.cleaned_data[hours_of(one.pk)] is not None
        ]
        return (*known, *(self._new_engines() if self._is_new() else ()))

    def is_about_boat(self) -> bool:
        """The boat itself is to be looked at."""
        return NONE in self.cleaned_data["engine"]

    def _new_engines(self) -> Iterable[ArrivingEngine]:
        typed = self.cleaned_data
        is_about = NEW in typed["engine"]
        places = PLACES.get(typed["engine_count"])
        if places is None:
            single = typed["position"] or EnginePosition.SINGLE
            return [self._new_engine("", position=single, is_about=is_about)]
        return [
            self._new_engine(beginning, position=place, is_about=is_about and place.value in typed["about"])
            for place, beginning in places
        ]

    def _new_engine(self, beginning: str, *, position: str, is_about: bool) -> ArrivingEngine:
        typed = self.cleaned_data
        serial = typed[f"{beginning}serial"]
        # whoever writes a serial down has read it, unless they say otherwise of the one they describe
        said = typed["serial_state"] if not beginning or not serial else ""
        guess = SerialState.READ if serial else SerialState.NOT_LOOKED
        state = guess if said == SerialState.READ and not serial else said or guess
        engine = EngineInput(
            make=typed["engine_make"], model=typed["engine_model"], serial=serial, serial_state=state
        )
        hours = self._read(f"{beginning}hours")
        return ArrivingEngine(engine=engine, position=position, hours=hours, is_about=is_about)

    def _read(self, name: str) -> HoursInput | None:
        hours = self.cleaned_data[name]
        if hours is None:
            return None
        return HoursInput(tenths=int(hours * 10), source=self.cleaned_data["hours_source"])


def hours_of(pk: int) -> str:
    """The name of the field for the hours of a known engine."""
    return f"hours_{pk}"


def _choice(engine: MountedEngine) -> str:
    return ", ".join(filter(None, [engine.words, engine.serial or engine.plate, engine.position]))
