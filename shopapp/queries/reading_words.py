"""What a reading says, in words: its verdict, and what else was found. A tablet fills the same sentences."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext_lazy as _

from shopapp.calc.money import format_number
from shopapp.calc.verdicts import Finding, Judged, Said
from shopapp.models import ReadingVerdict

LONGEST = 1000
# the figure, the cylinder and the unit are put in by name, here and on the tablet
SENTENCES: Mapping[Finding, Any] = {
    Finding.SPREAD: _("cylinders {figure} % apart"),
    Finding.RINGS: _("cylinder {cylinder} rises with oil in it: look at its rings"),
    Finding.LEAK_GOOD: _("cylinder {cylinder} loses {figure} %: good"),
    Finding.LEAK_SERVICEABLE: _("cylinder {cylinder} loses {figure} %: serviceable"),
    Finding.LEAK_WORN: _("cylinder {cylinder} loses {figure} %: worn"),
    Finding.LEAK_OVERHAUL: _("cylinder {cylinder} loses {figure} %: due for an overhaul"),
    Finding.LOSS_A_MINUTE: _("loses {figure} {unit} a minute"),
    Finding.ROSE: _("it rose: look at the gauge, or whether it warmed"),
    Finding.SHORT: _("shorter than the {figure} min it is meant for"),
    Finding.LOSS_AN_HOUR: _("loses {figure} {unit} in an hour of running"),
    Finding.GAIN_AN_HOUR: _("gains {figure} {unit} in an hour of running: what gets in?"),
    Finding.HOURS_LEFT: _("{figure} h of running left until the minimum"),
    Finding.BELOW_MINIMUM: _("below its minimum"),
    Finding.MORE_PITCH: _("about {figure} in more pitch would bring it in; a trial decides"),
    Finding.LESS_PITCH: _("about {figure} in less pitch would bring it in; a trial decides"),
}
# common practice, no source
DECIMALS: Mapping[Finding, int] = {
    Finding.LOSS_A_MINUTE: 2,
    Finding.LOSS_AN_HOUR: 2,
    Finding.GAIN_AN_HOUR: 2,
    Finding.MORE_PITCH: 0,
    Finding.LESS_PITCH: 0,
}
USUAL_DECIMALS = 1


def verdict_words(judged: Judged, *, unit: str, locale: str) -> str:
    """The verdict first, then what else the reading says."""
    verdict = str(ReadingVerdict(judged.verdict.value).label)
    said = [_sentence(one, unit=unit, locale=locale) for one in judged.said]
    return "; ".join([verdict, *said])[:LONGEST]


def _sentence(said: Said, *, unit: str, locale: str) -> str:
    shown = ""
    if said.figure is not None:
        decimals = DECIMALS.get(said.finding, USUAL_DECIMALS)
        # 5 minutes, not 5.0; a figure that only rounds to a whole one is as good as whole
        is_whole = round(said.figure, decimals) == round(said.figure)
        shown = format_number(Decimal(repr(said.figure)), locale=locale, decimals=0 if is_whole else decimals)
    return str(SENTENCES[said.finding]).format(figure=shown, cylinder=said.cylinder, unit=unit)
