"""A customer's answer in words: what was chosen of what was shown, for how much, by whom, and the drawing."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from babel.dates import format_datetime
from django.utils.translation import gettext as _

from shopapp.calc.money import from_minor
from shopapp.models import SPOKEN, AnswerHow, Approval, CustomerLink, Decision, LinkPurpose, QuoteRevision
from shopapp.queries.frozen_sums import chosen_totals
from shopapp.queries.shop import the_shop
from shopapp.queries.shown import Content, grown_to, money_words, totals_map


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """The answer for one job; no option is "not now"."""

    job: int
    option: Content | None


@dataclass(frozen=True, kw_only=True)
class Fact:
    """One thing that was written down with an answer."""

    label: str
    value: str


@dataclass(frozen=True, kw_only=True)
class SignedAnswer:
    """An answer, ready to show. ``strokes`` are points for SVG polylines in a space 600 × 240.

    One that came by telephone or email is not signed: its ``facts`` say who told it, when, and what.
    """

    is_approved: bool
    jobs: tuple[Chosen, ...]
    totals: Content
    grown: Content | None
    signed_name: str
    signed_at: str
    reason: str
    witness: str
    strokes: tuple[str, ...]
    how: str
    is_signed: bool
    facts: tuple[Fact, ...]


def signed_answer(approval: Approval, *, content: Content) -> SignedAnswer:
    """The answer, with the totals over exactly the chosen lines; five queries at most."""
    chosen = dict(approval.choices.values_list("choice", "option"))
    options = [option for option in chosen.values() if option is not None]
    totals = chosen_totals(content, options=options)
    return SignedAnswer(
        is_approved=approval.decision == Decision.APPROVED,
        jobs=tuple(_chosen(job, chosen=chosen) for job in content["jobs"]),
        totals=totals_map(totals, facts=content["facts"]),
        grown=grown_to(content, adds=totals.without_tax),
        signed_name=approval.signed_name,
        signed_at=_moment(approval.decided_at, locale=content["facts"]["rules"]["locale"]),
        reason=approval.reason,
        witness=approval.witness.name if approval.witness is not None else "",
        strokes=polylines(approval.strokes),
        how=str(approval.get_how_display()),
        is_signed=approval.how not in SPOKEN,
        facts=(
            *_sent(approval),
            *_received(approval, content=content),
            *_told(approval, content=content),
            *_parts(approval),
        ),
    )


def _sent(approval: Approval) -> Iterator[Fact]:
    """Of an answer by link: the number or address it went to. The answer itself shut that link."""
    if approval.how != AnswerHow.LINK:
        return
    links = CustomerLink.objects.filter(
        revision=approval.revision_id, purpose=LinkPurpose.PHONE, revoked_at=approval.decided_at
    )
    where = links.order_by("-pk").values_list("sent_to", flat=True).first()
    if where:
        yield Fact(label=_("Link sent to"), value=where)


def _received(approval: Approval, *, content: Content) -> Iterator[Fact]:
    """Of an answer that was signed without a connection: when it reached the shop, and who took it in."""
    if approval.how != AnswerHow.DOCK or approval.recorded_at is None:
        return
    at = _moment(approval.recorded_at, locale=content["facts"]["rules"]["locale"])
    by = approval.recorded_by
    yield Fact(label=_("Received by the shop"), value=f"{at}, {by.name}" if by is not None else at)


def _told(approval: Approval, *, content: Content) -> Iterator[Fact]:
    """Of an answer that nobody signed: what local rules want written down."""
    if approval.how not in SPOKEN or approval.recorded_at is None:
        return
    facts = content["facts"]
    rules = facts["rules"]
    who = ", ".join(filter(None, (approval.signed_name, approval.relation)))
    yield Fact(label=_("Said by"), value=who)
    yield Fact(label=_("When"), value=_moment(approval.decided_at, locale=rules["locale"]))
    is_call = approval.how == AnswerHow.PHONE
    yield Fact(label=_("Number called") if is_call else _("Email address"), value=approval.called_number)
    if approval.extra_minor is not None and approval.new_total_minor is not None:
        adds, after = (
            money_words(from_minor(minor, currency=rules["currency"]), facts=facts)
            for minor in (approval.extra_minor, approval.new_total_minor)
        )
        yield Fact(label=_("What was agreed"), value=approval.extra_work)
        yield Fact(label=_("This adds, without tax"), value=adds)
        yield Fact(label=_("New total, without tax"), value=after)
    by, at = approval.recorded_by, _moment(approval.recorded_at, locale=rules["locale"])
    yield Fact(label=_("Written down by"), value=f"{by.name if by is not None else ''}, {at}")


def _parts(approval: Approval) -> Iterator[Fact]:
    if approval.wants_parts_back is not None:
        wanted = _("the customer wants them back") if approval.wants_parts_back else _("not asked for")
        yield Fact(label=_("Replaced parts"), value=wanted)


def answer_to(revision: QuoteRevision, *, content: Content) -> SignedAnswer | None:
    """The answer to a revision, if there is one; at most six queries."""
    approval = Approval.objects.select_related("witness", "recorded_by").filter(revision=revision).first()
    return signed_answer(approval, content=content) if approval is not None else None


def picks_of(answer: SignedAnswer, *, content: Content) -> Mapping[int, int | None]:
    """What was chosen, as the page's picks: choice → option, ``None`` for "not now". No query."""
    options = {one.job: one.option["option"] if one.option else None for one in answer.jobs}
    return {job["choice"]: options[job["job"]] for job in content["jobs"]}


def _chosen(job: Mapping[str, Any], *, chosen: Mapping[int, int | None]) -> Chosen:
    pk = chosen.get(job["choice"])
    return Chosen(job=job["job"], option=next((one for one in job["options"] if one["option"] == pk), None))


def _moment(moment: datetime, *, locale: str) -> str:
    local = moment.astimezone(ZoneInfo(the_shop().time_zone))
    return format_datetime(local, format="d MMM y, HH:mm z", locale=locale)


def polylines(strokes: str) -> tuple[str, ...]:
    """A drawing as points for SVG polylines in a space 600 × 240; none for an empty text."""
    if not strokes:
        return ()
    return tuple(_polyline(stroke["points"]) for stroke in json.loads(strokes)["strokes"])


def _polyline(points: Sequence[Mapping[str, float]]) -> str:
    pairs = [(point["x"], point["y"]) for point in points]
    # a dot is drawn by a line to itself, which needs two points
    return " ".join(f"{x:g},{y:g}" for x, y in (pairs if len(pairs) > 1 else pairs * 2))
