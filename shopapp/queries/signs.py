"""The legend of the shop's signs: every stage and every hold with one plain sentence."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from shopapp.models import Hold, Stage
from shopapp.queries.visits import stage_chip

STAGE_SENTENCES = {
    Stage.BOOKED: _("The boat is expected; it is not here yet."),
    Stage.HERE: _("The boat has arrived and nobody has looked at it yet."),
    Stage.DIAGNOSIS: _("Somebody is finding out what is really wrong."),
    Stage.WITH_CUSTOMER: _("The customer has the quote and has not answered yet."),
    Stage.IN_LINE: _("The customer has agreed; the work waits for its turn."),
    Stage.IN_HAND: _("Somebody is doing the work."),
    Stage.TEST: _("The work is finished and must still be proved by a test."),
    Stage.READY: _("Everything is done; the boat can be collected."),
    Stage.GONE: _("The boat has gone home and the visit is closed."),
    Stage.CANCELLED: _("The visit was called off."),
}
HOLD_SENTENCES = {
    Hold.PARTS: _("A part is on its way."),
    Hold.ANSWER: _("Somebody must answer a question."),
    Hold.ACCESS: _("The keys, or a way to the boat, are missing."),
    Hold.SUBLET: _("Another shop does a piece of the work."),
    Hold.TECHNICIAN: _("The right person is not free."),
    Hold.BAY: _("There is no room in the shed."),
    Hold.LIFT: _("The boat waits for the lift or for the tide."),
    Hold.WEATHER: _("The weather does not allow it."),
    Hold.MAKER: _("The maker or the insurer must decide."),
    Hold.OWNER: _("The owner of the shop wants to look at it first."),
    Hold.PAYMENT: _("Money must come in first."),
}


@dataclass(frozen=True, kw_only=True)
class Sign:
    """A sign: its shape (by code), its word, and what it means."""

    code: str
    word: str
    sentence: str


@dataclass(frozen=True, kw_only=True)
class SignsPage:
    """The legend."""

    stages: tuple[Sign, ...]
    holds: tuple[Sign, ...]


def signs_page() -> SignsPage:
    """Every stage in the order of the path, every hold; no query."""
    return SignsPage(
        stages=tuple(
            Sign(code=sign.code, word=sign.word, sentence=str(STAGE_SENTENCES[stage]))
            for stage, sign in ((stage, stage_chip(stage)) for stage in Stage)
        ),
        holds=tuple(
            Sign(code=f"hold-{hold.value}", word=str(hold.label), sentence=str(HOLD_SENTENCES[hold]))
            for hold in Hold
        ),
    )
