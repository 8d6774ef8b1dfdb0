"""What people did on a visit, newest first, in words for everybody who may see it: no amounts in it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shopapp.models import SPOKEN, AnswerHow, Decision, Hold, Outcome, Stage, Thing, ToldHow, WorkOrder
from shopapp.queries.actuals import in_words

SHOWN = 60
VERBS = {
    "open work order": gettext_lazy("opened the work order"),
    "move job": gettext_lazy("moved a job"),
    "edit findings": gettext_lazy("wrote the findings"),
    "assign technician": gettext_lazy("put somebody on a job"),
    "take off technician": gettext_lazy("took somebody off a job"),
    "use part": gettext_lazy("used a part"),
    "log time": gettext_lazy("logged time"),
    "log fluid": gettext_lazy("logged a fluid"),
    "log reading": gettext_lazy("took a reading"),
    "strike reading": gettext_lazy("struck out a reading"),
    "log sublet": gettext_lazy("sent work out to another shop"),
    "take back sublet": gettext_lazy("took bought-in work back"),
    "log fee": gettext_lazy("logged a fee"),
    "strike row": gettext_lazy("struck out a row"),
    "link row": gettext_lazy("said whether a row is on the plan"),
    "price row": gettext_lazy("priced a row"),
    "set payer": gettext_lazy("said who pays a row"),
    "override row": gettext_lazy("said whether a row is billed all the same"),
    "add photo": gettext_lazy("added a photo"),
    "record test": gettext_lazy("recorded a test"),
    "clock on": gettext_lazy("clocked on"),
    "clock off": gettext_lazy("clocked off"),
    "correct clock": gettext_lazy("put a clock right"),
    "add steps": gettext_lazy("put steps on a job"),
    "remove step": gettext_lazy("took a step off a job"),
    "waive step": gettext_lazy("let a job go without a step"),
    "tick step": gettext_lazy("ticked a step"),
    "strike tick": gettext_lazy("struck out the tick of a step"),
    "write note": gettext_lazy("wrote a note"),
    "strike note": gettext_lazy("struck out a note"),
    "keep for the desk": gettext_lazy("sent something that the desk has to look at"),
    "hand out dock call": gettext_lazy("handed the work order out for a dock call"),
    "take back dock call": gettext_lazy("took the dock call back"),
    "take entry in": gettext_lazy("took in what a tablet had sent"),
    "set entry aside": gettext_lazy("set aside what a tablet had sent"),
    "lay up engine": gettext_lazy("wrote down that an engine is fogged and laid up"),
    "put in service": gettext_lazy("put an engine back in service"),
    "end job": gettext_lazy("wrote how a job ended"),
    "waive test": gettext_lazy("let a job go without its test"),
    "start quote": gettext_lazy("started a quote"),
    "start supplement": gettext_lazy("started a supplement"),
    **dict.fromkeys(
        (
            *("add option", "edit option", "remove option", "add line", "edit line", "remove line"),
            *("add job to quote", "leave job out of quote", "put back"),
            *("price kind of quote", "discount of quote", "minimum charge", "compare options"),
        ),
        gettext_lazy("worked on the quote"),
    ),
    "edit chances": gettext_lazy("wrote how long repairs hold"),
    "revise quote": gettext_lazy("took the quote back to revise it"),
    "discard quote": gettext_lazy("threw the draft of the quote away"),
    "send quote": gettext_lazy("sent the quote"),
    "send supplement": gettext_lazy("sent the supplement"),
    "hand over quote": gettext_lazy("handed the quote to the customer"),
    "send link": gettext_lazy("sent the customer a link to the quote"),
    "shut link": gettext_lazy("shut the customer's link"),
    "ask question": gettext_lazy("asked about the quote"),
    "answer question": gettext_lazy("answered the customer's question"),
    "answer quote": gettext_lazy("answered the quote"),
    "draft invoice": gettext_lazy("drafted the invoice"),
    "issue invoice": gettext_lazy("issued the invoice"),
    "take payment": gettext_lazy("took a payment"),
    "tell customer": gettext_lazy("told the customer that the boat is ready"),
    "hand back": gettext_lazy("handed the boat back"),
    "release boat": gettext_lazy("let the boat go before it is paid"),
    "cancel visit": gettext_lazy("called the visit off"),
    "add job": gettext_lazy("added a job"),
    "edit job": gettext_lazy("changed how a job is set"),
    "place hold": gettext_lazy("wrote down that it waits"),
    "chase hold": gettext_lazy("chased what it waits for"),
    "release hold": gettext_lazy("ended a wait"),
    "restore hold": gettext_lazy("took up a wait again"),
    "begin terms": gettext_lazy("wrote down the terms"),
    "edit terms": gettext_lazy("changed the terms"),
    "hand over intake": gettext_lazy("handed the terms to the customer"),
    "sign intake": gettext_lazy("signed the terms"),
    "edit people": gettext_lazy("changed who brings, approves, pays or collects"),
    "edit arrival": gettext_lazy("changed the promise or how it arrived"),
    **dict.fromkeys(
        ("leave out", "take in line", "change bill line", "edit draft", "keep draft", "add bill line"),
        gettext_lazy("worked on the invoice"),
    ),
    "bill beyond": gettext_lazy("lets the bill go beyond what was agreed"),
    "discard draft": gettext_lazy("discarded the draft of the invoice"),
    "take deposit": gettext_lazy("took a deposit"),
    "give refund": gettext_lazy("gave money back"),
    "credit invoice": gettext_lazy("credited the invoice"),
    "take in": gettext_lazy("took something in"),
    "let out": gettext_lazy("let something out"),
    "move thing": gettext_lazy("moved something"),
    "write call slip": gettext_lazy("wrote a call down"),
    "edit call slip": gettext_lazy("changed a call slip"),
    "close call slip": gettext_lazy("called back"),
    "reopen call slip": gettext_lazy("brought a call slip back"),
}
# who acts without a name of their own, by the scope of the entry
NAMELESS = {"link": gettext_lazy("the customer"), "system": gettext_lazy("the app")}
WAITS = ("place hold", "chase hold", "release hold", "restore hold")
CUSTODY = ("take in", "let out", "move thing")

# why a job was moved, as actions write it; other reasons are people's own words
REASONS = {
    "declined": gettext_lazy("the customer does not want it"),
    "taken back": gettext_lazy("the quote was taken back"),
    "under the limit": gettext_lazy("under the signed spending limit"),
}
# the one fact of a deed that is worth reading
NAMED = {
    "assign technician": "technician",
    "take off technician": "technician",
    **dict.fromkeys(("hand out dock call", "take back dock call"), "tablet"),
    "use part": "part",
    "log fluid": "product",
    "log reading": "what",
    "strike reading": "what",
    "log sublet": "what",
    "log fee": "fee",
    **dict.fromkeys(("take back sublet", "strike row", "link row", "price row", "set payer"), "what"),
    "override row": "what",
    "hand back": "to",
    "release boat": "to",
    "cancel visit": "why",
    "add job": "what",
    **dict.fromkeys(("lay up engine", "put in service"), "engine"),
    "waive test": "why",
    **dict.fromkeys(("add steps", "remove step", "tick step", "strike tick"), "what"),
    "waive step": "why",
}


@dataclass(frozen=True, kw_only=True)
class FeedRow:
    """One thing that somebody did."""

    happened_at: datetime
    who: str
    deed: str
    detail: str


def feed_of(work_order: WorkOrder) -> tuple[FeedRow, ...]:
    """The latest things done on a visit, the same thing done in a row told once. One query."""
    columns = ("happened_at", "scope", "actor_name", "verb", "payload")
    rows = work_order.activity.order_by("-seq").values_list(*columns)
    told = [
        FeedRow(
            happened_at=at,
            who=_who(scope, name),
            deed=_deed(scope, verb, payload),
            detail=_detail(verb, payload),
        )
        for at, scope, name, verb, payload in rows[:SHOWN]
        if not _leads_nowhere(verb, payload)
    ]
    return tuple(row for row, newer in zip(told, [None, *told], strict=False) if not _repeats(row, newer))


def _who(scope: str, name: str) -> str:
    """People by their names, as they were then; the others in the reader's words."""
    return str(NAMELESS.get(scope, name))


def _deed(scope: str, verb: str, payload: str | None) -> str:
    """What was done; an answer that came by telephone or email was only written down by somebody,
    and one from the dock brought.

    A customer moves no jobs: they answer, and the shop goes by it.
    """
    facts: Mapping[str, Any] = json.loads(payload) if payload else {}
    if verb == "answer quote" and facts.get("how") in SPOKEN:
        return _("wrote down the customer's answer")
    if verb == "answer quote" and facts.get("how") == AnswerHow.DOCK:
        return _("had the quote answered at the dock")
    if verb == "move job" and scope == "link":
        return _("answered, so a job moved on")
    return str(VERBS.get(verb, verb))


def _leads_nowhere(verb: str, payload: str | None) -> bool:
    """A move from a stage to the same one, as old entries hold them, tells nobody anything."""
    facts = json.loads(payload) if verb == "move job" and payload else {}
    return bool(facts) and facts["from"] == facts["to"]


def _repeats(row: FeedRow, newer: FeedRow | None) -> bool:
    return newer is not None and (row.who, row.deed, row.detail) == (newer.who, newer.deed, newer.detail)


def _detail(verb: str, payload: str | None) -> str:
    """Only facts that are known to hold no money; erased ones leave nothing."""
    facts: Mapping[str, Any] = json.loads(payload) if payload else {}
    if not facts:
        return ""
    if verb == "move job":
        return _move(facts)
    if verb == "record test":
        return _("passed") if facts["passed"] else _("failed")
    if verb == "log time":
        return f"{facts['technician']}, {in_words(facts['minutes'])}"
    return _named(verb, facts)


def _named(verb: str, facts: Mapping[str, Any]) -> str:
    if verb == "tell customer":
        return str(ToldHow(facts["how"]).label)
    if verb == "end job":
        return f"{Outcome(facts['outcome']).label}: {facts['why']}"
    if verb == "answer quote":
        answer = Decision(facts["decision"]).label
        return f"{answer}, {AnswerHow(facts['how']).label}" if "how" in facts else str(answer)
    if verb in WAITS:
        return str(Hold(facts["kind"]).label)
    if verb in CUSTODY:
        return ", ".join(filter(None, [str(Thing(facts["thing"]).label), facts["who"], facts["place"]]))
    return str(facts[NAMED[verb]]) if verb in NAMED else ""


def _move(facts: Mapping[str, Any]) -> str:
    way = f"{Stage(facts['from']).label} → {Stage(facts['to']).label}"
    why = facts.get("why")
    return f"{way}: {REASONS.get(why, why)}" if why else way
