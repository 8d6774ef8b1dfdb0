"""The form of the counter: whoever and whatever is not known yet, and what is wrong."""

from dataclasses import asdict
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from shopapp.actions.arrivals import ArrivalInput
from shopapp.actions.customers import CustomerInput
from shopapp.actions.vessels import VesselInput
from shopapp.models import TestKind
from shopapp.queries.arrivals import ArrivalPage
from shopapp.queries.customers import LikelyCustomer
from shopapp.web.arrivals.forms_engines import NEW, EngineFields
from shopapp.web.arrivals.forms_visit import PeopleFields, PromiseField, StateFields, TermsFields
from shopapp.web.shared.text_fields import LineField, StoryField

BOAT = "boat-"
_CUSTOMER = ("likely", "name", "phone", "email")
_BOAT = ("kept_on", "boat_name", "boat_make", "boat_model", "hull_number")


class ArrivalForm(EngineFields, StateFields, PeopleFields, TermsFields):
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
        label=_("What is it on?"),
        max_length=80,
        help_text=_("A trailer, a cradle, a berth."),
        widget=forms.TextInput(attrs={"list": "kept-on"}),
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
    complaint = StoryField(label=_("What is wrong, in the customer's words"), max_length=4000)
    promised_date = PromiseField()
    technicians = forms.MultipleChoiceField(
        label=_("Who works on it"), required=False, widget=forms.CheckboxSelectMultiple
    )
    test_kind = forms.ChoiceField(
        label=_("Test before it goes back"), choices=TestKind.choices, initial=TestKind.WATER
    )

    def __init__(self, data: QueryDict | None, *, page: ArrivalPage, locale: str) -> None:
        super().__init__(data, locale=locale)
        self.page = page
        known = [*(_CUSTOMER if page.customer else ()), *(_BOAT if page.vessel else ())]
        for name in known:
            del self.fields[name]
        self.offer_engines(page.engines)
        self.offer_payers(page.payers)
        self._offer("technicians", [(str(person.pk), person.name) for person in page.technicians])
        if "likely" in self.fields:
            self._offer("likely", _likely(page))
        self.initial.update(asdict(page.usual))
        self._put_the_cursor()

    def _offer(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        if isinstance(field, forms.ChoiceField):
            field.choices = choices

    def _put_the_cursor(self) -> None:
        first = "name" if "name" in self.fields else "kept_on" if "kept_on" in self.fields else "engine"
        is_settled = first == "engine" and len(self.page.engines) == 1
        self.fields["complaint" if is_settled else first].widget.attrs["autofocus"] = True

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        self.check_engines()
        self.check_people()
        return cleaned

    def as_input(self) -> ArrivalInput:
        """What the action needs; what the page knows is named by its number."""
        typed = self.cleaned_data
        return ArrivalInput(
            customer=self._customer(),
            vessel=self.page.vessel.pk if self.page.vessel is not None else self._vessel(),
            engines=self.arriving(),
            is_about_boat=self.is_about_boat(),
            is_somebody_new=typed.get("likely") == NEW,
            complaint=typed["complaint"],
            state=self.state(),
            people=self.people(),
            terms=self.terms(),
            purchase_order=typed["purchase_order"],
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
