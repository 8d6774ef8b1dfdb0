"""The parts of the counter's form about the visit: the state it arrived in, the people on it, the terms."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopapp.actions.arrivals import ArrivalState
from shopapp.actions.intakes import TermsInput
from shopapp.actions.visit_people import PersonOnVisit
from shopapp.models import Fuel, PartInVisit
from shopapp.queries.arrivals import FoundCustomer
from shopapp.queries.visit_terms import TICKS
from shopapp.web.shared.forms import NumberField, ShopForm
from shopapp.web.shared.text_fields import LineField, ParagraphsField, StoryField

MOST_MONEY = Decimal(10) ** 9
_NAMED = (PartInVisit.BRINGER, PartInVisit.APPROVER, PartInVisit.COLLECTOR)


class NameField(LineField):
    """A name somebody may be called by."""

    widget = forms.TextInput(attrs={"autocomplete": "off"})

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=120, required=False, **kwargs)


class PhoneField(LineField):
    """A telephone number."""

    widget = forms.TextInput(attrs={"inputmode": "tel", "autocomplete": "off"})

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=40, required=False, **kwargs)


class PromiseField(forms.DateField):
    """The day a boat is promised for."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def __init__(self) -> None:
        super().__init__(
            label=_("Promised for"),
            required=False,
            input_formats=["%Y-%m-%d"],
            error_messages={"invalid": _("This is not a day. Write it like 2026-06-30.")},
        )


class WrittenFields(ShopForm):
    """How it came, as it was written down."""

    fuel = forms.ChoiceField(label=_("Fuel"), choices=Fuel.choices, required=False)
    keys_tag = LineField(
        label=_("Keys, tag number"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    trailer = LineField(label=_("Trailer"), max_length=80, required=False)
    loose_gear = ParagraphsField(
        label=_("Loose gear"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    arrival_state = StoryField(
        label=_("What was seen on it?"),
        max_length=2000,
        required=False,
        help_text=_("Scratches, dents, water in the boat, what is missing."),
    )


class StateFields(WrittenFields):
    """The same, and where it was put."""

    place = LineField(
        label=_("Where does it stand?"),
        max_length=80,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def state(self) -> ArrivalState:
        """How the boat came."""
        typed = self.cleaned_data
        names = ("fuel", "keys_tag", "place", "trailer", "loose_gear")
        return ArrivalState(seen=typed["arrival_state"], **{name: typed[name] for name in names})


class PeopleFields(ShopForm):
    """People beside the owner. Whoever pays is looked up among the known customers."""

    bringer_name = NameField(label=_("Brings it"))
    bringer_phone = PhoneField(label=_("Telephone of who brings it"))
    approver_name = NameField(label=_("Says yes to the work"))
    approver_phone = PhoneField(label=_("Telephone of who says yes"))
    approver_up_to = NumberField(
        label=_("Up to, without tax"), decimals=3, least=Decimal(0), most=MOST_MONEY, required=False
    )
    payer = LineField(
        label=_("Pays"),
        max_length=120,
        required=False,
        help_text=_("Name or telephone of a customer who is known here."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    payer_pk = forms.ChoiceField(label=_("Who is it that pays?"), required=False, widget=forms.RadioSelect)
    collector_name = NameField(label=_("Collects it"))
    collector_phone = PhoneField(label=_("Telephone of who collects it"))
    purchase_order = LineField(label=_("Their purchase order number"), max_length=60, required=False)

    def offer_payers(self, payers: Sequence[FoundCustomer]) -> None:
        """Who fits what was typed."""
        self.payers = payers
        field = self.fields["payer_pk"]
        if isinstance(field, forms.ChoiceField):
            field.choices = [(str(one.pk), f"{one.name}, {one.phone}") for one in payers]

    @property
    def are_people_wrong(self) -> bool:
        """The fold of the people stands open, since something in it is to be put right."""
        return any(name in self.errors for name in PeopleFields.base_fields)

    def check_people(self) -> None:
        """Nobody without a name; one payer, and no other than a known one."""
        typed = self.cleaned_data
        for part in _NAMED:
            rest = [typed.get(f"{part}_phone"), typed.get(f"{part}_up_to")]
            if not typed.get(f"{part}_name", "x") and any(one not in (None, "") for one in rest):
                self.add_error(f"{part}_name", _("Write the name as well."))
        if typed.get("payer") and not typed.get("payer_pk"):
            self._look_for_payer()

    def _look_for_payer(self) -> None:
        if len(self.payers) == 1:
            self.cleaned_data["payer_pk"] = str(self.payers[0].pk)
        elif self.payers:
            self.add_error("payer_pk", _("Several fit. Say which of them pays."))
        else:
            self.add_error(
                "payer", _("Nobody known here fits. Leave it empty, and add them when they are written down.")
            )

    def people(self) -> tuple[PersonOnVisit, ...]:
        """Everybody who was named."""
        typed = self.cleaned_data
        named = [
            PersonOnVisit(
                part=part,
                name=typed[f"{part}_name"],
                phone=typed[f"{part}_phone"],
                up_to=typed.get(f"{part}_up_to"),
            )
            for part in _NAMED
            if typed[f"{part}_name"]
        ]
        pays = typed["payer_pk"] if typed["payer"] else ""
        payer = [PersonOnVisit(part=PartInVisit.PAYER, customer=int(pays))] if pays else []
        return (*named, *payer)


class TermsFields(ShopForm):
    """On what terms the boat is here. What is left empty is nil."""

    diagnosis_fee = NumberField(
        label=_("Diagnosis fee, without tax"), decimals=3, least=Decimal(0), most=MOST_MONEY, required=False
    )
    spending_limit = NumberField(
        label=_("May be spent without asking again, without tax"),
        decimals=3,
        least=Decimal(0),
        most=MOST_MONEY,
        required=False,
    )
    limit_comes_on_top = forms.BooleanField(
        label=_("This limit goes on after a quote was agreed to"), required=False
    )
    may_run = forms.BooleanField(label=_("The shop may run the engine"), required=False)
    may_move = forms.BooleanField(label=_("The shop may move the boat"), required=False)
    may_launch = forms.BooleanField(label=_("The shop may launch it for a test"), required=False)
    wants_parts_back = forms.BooleanField(label=_("Wants the replaced parts back"), required=False)

    @property
    def are_terms_wrong(self) -> bool:
        """The fold of the terms stands open, since something in it is to be put right."""
        return any(name in self.errors for name in TermsFields.base_fields)

    def terms(self) -> TermsInput:
        """What the action needs."""
        typed = self.cleaned_data
        return TermsInput(
            diagnosis_fee=typed["diagnosis_fee"] or Decimal(0),
            spending_limit=typed["spending_limit"] or Decimal(0),
            **{name: typed[name] for name in TICKS},
        )
