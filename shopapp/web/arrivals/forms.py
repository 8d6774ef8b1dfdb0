"""The form of the counter: whoever and whatever is not known yet, and what is wrong."""

from decimal import Decimal
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from shopapp.actions.arrivals import ArrivalInput, NewEngine
from shopapp.actions.customers import CustomerInput
from shopapp.actions.engines import EngineInput, HoursInput
from shopapp.actions.vessels import VesselInput
from shopapp.models import EnginePosition, HoursSource, SerialState, TestKind
from shopapp.queries.arrivals import ArrivalPage
from shopapp.queries.customers import LikelyCustomer
from shopapp.queries.engines import MountedEngine
from shopapp.web.shared.forms import NumberField, ShopForm
from shopapp.web.shared.text_fields import LineField, ParagraphsField

NEW = "new"
NONE = "none"
BOAT = "boat-"
_CUSTOMER = ("likely", "name", "phone", "email")
_BOAT = ("kept_on", "boat_name", "boat_make", "boat_model", "hull_number")
_ENGINE = ("engine_make", "engine_model", "serial")


class ArrivalForm(ShopForm):
    """One page for everybody; what the page knows already is not asked."""

    likely = forms.ChoiceField(label=_("Who is it?"), required=False, widget=forms.RadioSelect)
    name = LineField(label=_("Name"), max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    phone = LineField(
        label=_("Telephone"),
        max_length=40,
        widget=forms.TextInput(attrs={"inputmode": "tel", "autocomplete": "off"}),
    )
    email = forms.EmailField(
        label=_("Email"),
        max_length=254,
        required=False,
        error_messages={"invalid": _("This is not an email address. Write it like anna@shop.example.")},
    )
    kept_on = LineField(
        label=_("What is it on?"), max_length=80, widget=forms.TextInput(attrs={"list": "kept-on"})
    )
    boat_name = LineField(label=_("Boat's name"), max_length=80, required=False)
    boat_make = LineField(label=_("Make of the boat"), max_length=80, required=False)
    boat_model = LineField(label=_("Model of the boat"), max_length=80, required=False)
    hull_number = LineField(
        label=_("Hull number"),
        max_length=40,
        required=False,
        help_text=_("12 characters, on the transom."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    engine = forms.ChoiceField(label=_("Which engine is it about?"), widget=forms.RadioSelect)
    engine_make = LineField(label=_("Make of the engine"), max_length=80, required=False)
    engine_model = LineField(label=_("Model of the engine"), max_length=80, required=False)
    serial = LineField(
        label=_("Serial"),
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    serial_state = forms.ChoiceField(
        label=_("The serial plate"), choices=[("", "–"), *SerialState.choices], required=False
    )
    position = forms.ChoiceField(
        label=_("Place on the transom"), choices=EnginePosition.choices, required=False
    )
    hours = NumberField(
        label=_("Hours"), decimals=1, least=Decimal(0), most=Decimal("99999.9"), required=False
    )
    hours_source = forms.ChoiceField(
        label=_("Hours read from"), choices=[("", "–"), *HoursSource.choices], required=False
    )
    complaint = ParagraphsField(label=_("What is wrong, in the customer's words"), max_length=4000)
    promised_date = forms.DateField(
        label=_("Promised for"),
        required=False,
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": _("This is not a day. Write it like 2026-06-30.")},
    )
    technicians = forms.MultipleChoiceField(
        label=_("Who works on it"), required=False, widget=forms.CheckboxSelectMultiple
    )
    test_kind = forms.ChoiceField(
        label=_("Test before it goes back"), choices=TestKind.choices, initial=TestKind.WATER
    )
    arrival_state = ParagraphsField(
        label=_("State it arrived in"),
        max_length=2000,
        required=False,
        help_text=_("Fuel, keys, loose gear, damage, trailer."),
    )

    def __init__(self, data: QueryDict | None, *, page: ArrivalPage, locale: str) -> None:
        super().__init__(data, locale=locale)
        self.page = page
        known = [*(_CUSTOMER if page.customer else ()), *(_BOAT if page.vessel else ())]
        for name in known:
            del self.fields[name]
        self._offer("engine", _engines(page))
        self._offer("technicians", [(str(person.pk), person.name) for person in page.technicians])
        if "likely" in self.fields:
            self._offer("likely", _likely(page))
        self._put_choices_right()

    def _offer(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        if isinstance(field, forms.ChoiceField):
            field.choices = choices

    def _put_choices_right(self) -> None:
        engines = self.page.engines
        self.initial["engine"] = str(engines[0].pk) if len(engines) == 1 else "" if engines else NEW
        first = "name" if "name" in self.fields else "kept_on" if "kept_on" in self.fields else "engine"
        is_settled = first == "engine" and len(engines) == 1
        self.fields["complaint" if is_settled else first].widget.attrs["autofocus"] = True

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        is_typed = any(cleaned.get(name) for name in _ENGINE)
        if cleaned.get("engine") not in (NEW, None) and is_typed:
            self.add_error(
                "engine", _("You wrote down another engine below. Choose it here, or empty it there.")
            )
        if cleaned.get("engine") == NONE and cleaned.get("hours") is not None:
            self.add_error("engine", _("Choose the engine that has these hours."))
        if cleaned.get("hours") is not None and not cleaned.get("hours_source", "x"):
            self.add_error("hours_source", _("Say where the hours come from."))
        if cleaned.get("serial_state") == SerialState.READ and not cleaned.get("serial", "x"):
            self.add_error("serial", _("Write the serial, or say that the plate was not read."))
        return cleaned

    def as_input(self) -> ArrivalInput:
        """What the action needs; what the page knows is named by its number."""
        typed = self.cleaned_data
        return ArrivalInput(
            customer=self._customer(),
            vessel=self.page.vessel.pk if self.page.vessel is not None else self._vessel(),
            engine=self._engine(),
            hours=self._hours(),
            is_somebody_new=typed.get("likely") == NEW,
            complaint=typed["complaint"],
            arrival_state=typed["arrival_state"],
            promised_date=typed["promised_date"],
            test_kind=typed["test_kind"],
            technicians=tuple(int(pk) for pk in typed["technicians"]),
        )

    def _customer(self) -> CustomerInput | int:
        typed = self.cleaned_data
        if self.page.customer is not None:
            return self.page.customer.pk
        if typed["likely"] not in ("", NEW):
            return int(typed["likely"])
        return CustomerInput(name=typed["name"], phone=typed["phone"], email=typed["email"])

    def _vessel(self) -> VesselInput:
        typed = self.cleaned_data
        return VesselInput(
            kept_on=typed["kept_on"],
            name=typed["boat_name"],
            make=typed["boat_make"],
            model=typed["boat_model"],
            hull_number=typed["hull_number"],
        )

    def _engine(self) -> NewEngine | int | None:
        typed = self.cleaned_data
        if typed["engine"] == NONE:
            return None
        if typed["engine"] != NEW:
            return int(typed["engine"])
        # whoever writes a serial down has read it, unless they say otherwise
        guess = SerialState.READ if typed["serial"] else SerialState.NOT_LOOKED
        engine = EngineInput(
            make=typed["engine_make"],
            model=typed["engine_model"],
            serial=typed["serial"],
            serial_state=typed["serial_state"] or guess,
        )
        return NewEngine(engine=engine, position=typed["position"] or EnginePosition.SINGLE)

    def _hours(self) -> HoursInput | None:
        hours = self.cleaned_data["hours"]
        if hours is None:
            return None
        return HoursInput(tenths=int(hours * 10), source=self.cleaned_data["hours_source"])


def _engines(page: ArrivalPage) -> list[tuple[str, str]]:
    known = [(str(engine.pk), _engine_choice(engine)) for engine in page.engines]
    other = _("Another engine") if known else _("An engine: write down below what you know")
    return [*known, (NEW, str(other)), (NONE, str(_("No engine: it is about the boat itself")))]


def _engine_choice(engine: MountedEngine) -> str:
    return ", ".join(filter(None, [engine.words, engine.serial or engine.plate, engine.position]))


def _likely_choices(one: LikelyCustomer) -> list[tuple[str, str]]:
    who = f"{one.name}, {one.phone}"
    boats = [
        (f"{BOAT}{boat.pk}", _("%(who)s: %(boat)s") % {"who": who, "boat": boat.name}) for boat in one.boats
    ]
    other = _("%(who)s: another boat") if boats else _("%(who)s: the boat written down below")
    return [*boats, (str(one.pk), other % {"who": who})]


def _likely(page: ArrivalPage) -> list[tuple[str, str]]:
    known = [choice for one in page.likely for choice in _likely_choices(one)]
    return [*known, (NEW, str(_("This is somebody new")))]
