"""The forms of a customer, a boat and an engine."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.customers import MOST_DAYS, CustomerInput
from shopapp.actions.engines import EngineEdit, EngineInput, HoursInput
from shopapp.actions.vessels import VesselInput
from shopapp.models import Customer, Engine, EngineMounting, EnginePosition, HoursSource, SerialState, Vessel
from shopapp.web.shared.forms import NumberField, ShopForm, VersionedForm
from shopapp.web.shared.text_fields import LineField, ParagraphsField

_EMAIL_HELP = _("This is not an email address. Write it like anna@shop.example.")


class CustomerForm(VersionedForm):
    """Everything about a customer that the desk may change."""

    name = LineField(label=_("Name"), max_length=120)
    phone = LineField(label=_("Telephone"), max_length=40, widget=forms.TextInput(attrs={"inputmode": "tel"}))
    email = forms.EmailField(
        label=_("Email"), max_length=254, required=False, error_messages={"invalid": _EMAIL_HELP}
    )
    address = ParagraphsField(label=_("Address"), max_length=500, required=False)
    is_tax_exempt = forms.BooleanField(label=_("Pays no tax"), required=False)
    exemption_reason = LineField(
        label=_("Why no tax is charged"),
        max_length=200,
        required=False,
        help_text=_("It is printed on the invoice."),
    )
    exemption_number = LineField(label=_("Number of the exemption"), max_length=60, required=False)
    is_account = forms.BooleanField(
        label=_("Has an account"),
        required=False,
        help_text=_("The boat may go home before the bill is paid."),
    )
    payment_days = forms.IntegerField(
        label=_("Days to pay"),
        min_value=0,
        max_value=MOST_DAYS,
        required=False,
        help_text=_("Empty: as the shop's terms say."),
    )
    needs_purchase_order = forms.BooleanField(label=_("Needs a purchase order number"), required=False)
    note = ParagraphsField(
        label=_("Note"), max_length=2000, required=False, help_text=_("For the shop only; never printed.")
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("is_tax_exempt") and not cleaned.get("exemption_reason", "x"):
            self.add_error(
                "exemption_reason", _("Write why this customer pays no tax, or take the tick away.")
            )
        return cleaned

    def as_input(self) -> CustomerInput:
        """What the action needs."""
        return CustomerInput(**{name: self.cleaned_data[name] for name in _CUSTOMER_FIELDS})


class EraseForm(ShopForm):
    """The owner has looked, and is sure."""

    is_sure = forms.BooleanField(
        label=_("Yes, erase the data of this customer. I know that it can’t be taken back.")
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["is_sure"].error_messages["required"] = _("Tick this if you are sure.")


_CUSTOMER_FIELDS = tuple(name for name in CustomerForm.base_fields if name != "version")


def customer_values(row: Customer) -> Mapping[str, Any]:
    """A customer's values by the names of the form's fields."""
    return {name: getattr(row, name) for name in _CUSTOMER_FIELDS}


class VesselForm(VersionedForm):
    """A boat. Its hull number may be odd: the page says so and nothing stops."""

    name = LineField(label=_("Boat's name"), max_length=80, required=False)
    kept_on = LineField(
        label=_("What is it on?"),
        max_length=80,
        help_text=_("Trailer, cradle, berth 12 …"),
        widget=forms.TextInput(attrs={"list": "kept-on"}),
    )
    make = LineField(label=_("Make"), max_length=80, required=False)
    model = LineField(label=_("Model"), max_length=80, required=False)
    length_m = NumberField(
        label=_("Length"), decimals=2, least=Decimal("0.5"), most=Decimal(200), required=False
    )
    hull_number = LineField(
        label=_("Hull number"),
        max_length=40,
        required=False,
        help_text=_("12 characters, on the transom."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    registration = LineField(label=_("Registration"), max_length=40, required=False)

    def as_input(self) -> VesselInput:
        """What the action needs."""
        typed = dict(self.cleaned_data)
        length = typed["length_m"]
        return VesselInput(
            kept_on=typed["kept_on"],
            name=typed["name"],
            make=typed["make"],
            model=typed["model"],
            length_cm=int(length * 100) if length is not None else None,
            hull_number=typed["hull_number"],
            registration=typed["registration"],
        )


def vessel_values(row: Vessel) -> Mapping[str, Any]:
    """A boat's values by the names of the form's fields."""
    same = ("name", "kept_on", "make", "model", "hull_number", "registration")
    length = Decimal(row.length_cm) / 100 if row.length_cm is not None else None
    return {name: getattr(row, name) for name in same} | {"length_m": length}


class EngineForm(VersionedForm):
    """An engine, and perhaps a new reading of its hours."""

    make = LineField(label=_("Make"), max_length=80, required=False)
    model = LineField(label=_("Model"), max_length=80, required=False)
    serial = LineField(
        label=_("Serial"),
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    serial_state = forms.ChoiceField(label=_("The serial plate"), choices=SerialState.choices)
    position = forms.ChoiceField(label=_("Place on the transom"), choices=EnginePosition.choices)
    year = NumberField(label=_("Year"), decimals=0, least=Decimal(1900), most=Decimal(2100), required=False)
    power = NumberField(
        label=_("Power"), decimals=1, least=Decimal("0.1"), most=Decimal(2000), required=False
    )
    family = forms.TypedChoiceField(
        label=_("Family in the spec book"), coerce=int, empty_value=None, required=False
    )
    hours = NumberField(
        label=_("Hours now"), decimals=1, least=Decimal(0), most=Decimal("99999.9"), required=False
    )
    hours_source = forms.ChoiceField(
        label=_("Hours read from"), choices=[("", "–"), *HoursSource.choices], required=False
    )

    def __init__(self, *args: Any, families: Sequence[tuple[int, str]] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [("", _("not picked yet")), *families]
        self.fields["family"].choices = choices  # type: ignore[attr-defined]  # a field of choices

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("serial_state") == SerialState.READ and not cleaned.get("serial", "x"):
            self.add_error("serial", _("Write the serial, or say that the plate was not read."))
        if cleaned.get("hours") is not None and not cleaned.get("hours_source", "x"):
            self.add_error("hours_source", _("Say where the hours come from."))
        return cleaned

    def as_input(self) -> EngineEdit:
        """What the action needs."""
        typed = self.cleaned_data
        engine = EngineInput(
            make=typed["make"],
            model=typed["model"],
            serial=typed["serial"],
            serial_state=typed["serial_state"],
            year=int(typed["year"]) if typed["year"] is not None else None,
            power_tenths_hp=int(typed["power"] * 10) if typed["power"] is not None else None,
            family_id=typed["family"],
        )
        return EngineEdit(engine=engine, position=typed["position"], hours=self._hours())

    def _hours(self) -> HoursInput | None:
        hours = self.cleaned_data["hours"]
        if hours is None:
            return None
        return HoursInput(tenths=int(hours * 10), source=self.cleaned_data["hours_source"])


def engine_values(row: Engine, *, mounting: EngineMounting | None) -> Mapping[str, Any]:
    """An engine's values by the names of the form's fields; the reading is always a new one."""
    return {
        "make": row.make,
        "model": row.model,
        "serial": row.serial,
        "serial_state": row.serial_state,
        "position": mounting.position if mounting is not None else EnginePosition.SINGLE,
        "year": Decimal(row.year) if row.year is not None else None,
        "power": Decimal(row.power_tenths_hp) / 10 if row.power_tenths_hp is not None else None,
        "family": row.family_id,
    }
