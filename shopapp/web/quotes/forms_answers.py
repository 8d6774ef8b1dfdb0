"""Forms around an answer: where a link goes, what was said on the telephone, a word to a question."""

from datetime import datetime
from decimal import Decimal
from typing import Any, cast
from zoneinfo import ZoneInfo

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from shopapp.actions.approvals import LONGEST_NAME
from shopapp.actions.links import LONGEST_ADDRESS
from shopapp.actions.questions import LONGEST as LONGEST_ANSWER
from shopapp.actions.spoken_answers import LONGEST_NUMBER, LONGEST_RELATION, LONGEST_WORK, SpokenInput
from shopapp.actions.start_now import LONGEST_WHAT, StartNowInput
from shopapp.models import SPOKEN, AnswerHow, LineKind
from shopapp.web.shared.decisions import ChoicesForm
from shopapp.web.shared.forms import NumberField, ShopForm, VersionedForm
from shopapp.web.shared.moments import MomentField
from shopapp.web.shared.text_fields import LineField, ParagraphsField

HOWS = [(how.value, how.label) for how in SPOKEN]
# what the work mostly is: the tax follows from it
MOSTLY = [(LineKind.LABOUR.value, _("work")), (LineKind.PART.value, _("parts"))]
LARGEST = Decimal(1_000_000)


class SendLinkForm(ShopForm):
    """Where the link goes."""

    sent_to = LineField(
        label=_("Phone number or email address"),
        max_length=LONGEST_ADDRESS,
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "known-addresses"}),
        help_text=_("It is kept with the answer, so that you can show where the link went."),
    )


class CalledForm(ShopForm):
    """Who said it, how, when, under which number or address."""

    how = forms.TypedChoiceField(
        label=_("How did the answer come?"),
        choices=HOWS,
        coerce=AnswerHow,
        widget=forms.RadioSelect,
        initial=AnswerHow.PHONE,
    )
    spoken_with = LineField(
        label=_("Who said it?"),
        max_length=LONGEST_NAME,
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "known-names"}),
    )
    relation = LineField(
        label=_("What is that person to the owner?"),
        max_length=LONGEST_RELATION,
        required=False,
        help_text=_("For example: owner, daughter, skipper."),
    )
    number = LineField(
        label=_("Number called, or email address"),
        max_length=LONGEST_NUMBER,
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "known-numbers"}),
    )
    spoken_at = MomentField(label=_("When was it said?"))

    def __init__(self, *args: Any, zone: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        spoken_at = cast("MomentField", self.fields["spoken_at"])
        spoken_at.zone, spoken_at.now = ZoneInfo(zone), timezone.now()


class SpokenForm(CalledForm, ChoicesForm):
    """An answer that came by telephone or email, with all that proves it."""

    extra_work = ParagraphsField(
        label=_("What was agreed, in words"),
        max_length=LONGEST_WORK,
        required=False,
        help_text=_("Left empty, the titles of what was chosen are written down."),
    )
    wants_parts_back = forms.BooleanField(label=_("They want the replaced parts back"), required=False)
    reason = ParagraphsField(label=_("Why not"), max_length=2000, required=False)

    def as_input(self) -> SpokenInput:
        """What the action needs."""
        typed = self.cleaned_data
        return SpokenInput(
            how=typed["how"],
            is_declined=self.is_declined,
            chosen=self.picked(),
            spoken_with=typed["spoken_with"],
            number=typed["number"],
            spoken_at=typed["spoken_at"],
            relation=typed["relation"],
            extra_work=typed["extra_work"],
            reason=typed["reason"],
            wants_parts_back=typed.get("wants_parts_back"),
        )


class StartNowForm(CalledForm):
    """One piece of work that was agreed on the telephone and begins at once."""

    what = LineField(label=_("What is done"), max_length=LONGEST_WHAT)
    at_most = NumberField(
        label=_("For at most, without tax"), decimals=2, least=Decimal("0.01"), most=LARGEST
    )
    kind = forms.TypedChoiceField(
        label=_("It is mostly"),
        choices=MOSTLY,
        coerce=LineKind,
        widget=forms.RadioSelect,
        initial=LineKind.LABOUR,
        help_text=_("The tax follows from it."),
    )

    def as_input(self) -> StartNowInput:
        """What the action needs."""
        typed = self.cleaned_data
        return StartNowInput(
            what=typed["what"],
            at_most=typed["at_most"],
            kind=typed["kind"],
            how=typed["how"],
            spoken_with=typed["spoken_with"],
            number=typed["number"],
            spoken_at=typed["spoken_at"],
            relation=typed["relation"],
        )


class FixedStartNowForm(StartNowForm):
    """The same on a job with a fixed price, which is charged as it stands and is no upper limit."""

    at_most = NumberField(
        label=_("For this price, without tax"), decimals=2, least=Decimal("0.01"), most=LARGEST
    )


class AnswerQuestionForm(VersionedForm):
    """What the shop says to a customer's question."""

    answer = ParagraphsField(label=_("Your answer"), max_length=LONGEST_ANSWER)


def call_values(*, name: str, phone: str, at: datetime) -> dict[str, Any]:
    """What most calls are: with the owner, under their number, a moment ago."""
    return {"spoken_with": name, "number": phone, "spoken_at": at}
