"""A customer's answer in words: what was chosen of what was shown, for how much, by whom, and the drawing."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from babel.dates import format_datetime

from shopapp.models import Approval, Decision
from shopapp.queries.shop import the_shop
from shopapp.queries.shown import Content, chosen_totals, grown_to, totals_map


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """The answer for one job; no option is "not now"."""

    job: int
    option: Content | None


@dataclass(frozen=True, kw_only=True)
class SignedAnswer:
    """An answer, ready to show. ``strokes`` are points for SVG polylines in a space 600 × 240."""

    is_approved: bool
    jobs: tuple[Chosen, ...]
    totals: Content
    grown: Content | None
    signed_name: str
    signed_at: str
    reason: str
    witness: str
    strokes: tuple[str, ...]


def signed_answer(approval: Approval, *, content: Content) -> SignedAnswer:
    """The answer, with the totals over exactly the chosen lines; three queries."""
    chosen = dict(approval.choices.values_list("choice", "option"))
    options = [option for option in chosen.values() if option is not None]
    totals = chosen_totals(content, options=options)
    return SignedAnswer(
        is_approved=approval.decision == Decision.APPROVED,
        jobs=tuple(_chosen(job, chosen=chosen) for job in content["jobs"]),
        totals=totals_map(totals, facts=content["facts"]),
        grown=grown_to(content, adds=totals.without_tax),
        signed_name=approval.signed_name,
        signed_at=_moment(approval, locale=content["facts"]["rules"]["locale"]),
        reason=approval.reason,
        witness=approval.witness.name if approval.witness is not None else "",
        strokes=_polylines(approval.strokes),
    )


def _chosen(job: Mapping[str, Any], *, chosen: Mapping[int, int | None]) -> Chosen:
    pk = chosen.get(job["choice"])
    return Chosen(job=job["job"], option=next((one for one in job["options"] if one["option"] == pk), None))


def _moment(approval: Approval, *, locale: str) -> str:
    local = approval.decided_at.astimezone(ZoneInfo(the_shop().time_zone))
    return format_datetime(local, format="d MMM y, HH:mm z", locale=locale)


def _polylines(strokes: str) -> tuple[str, ...]:
    if not strokes:
        return ()
    return tuple(_polyline(stroke["points"]) for stroke in json.loads(strokes)["strokes"])


def _polyline(points: Sequence[Mapping[str, float]]) -> str:
    pairs = [(point["x"], point["y"]) for point in points]
    # a dot is drawn by a line to itself, which needs two points
    return " ".join(f"{x:g},{y:g}" for x, y in (pairs if len(pairs) > 1 else pairs * 2))
