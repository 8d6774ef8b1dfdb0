"""A visit as it stands on paper in the shed: what is agreed and how it is proved, as a plain map of text.

It hangs where everybody can read it: no price, and nothing of the customer but what they allow.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from shopapp.models import (
    Hold,
    Intake,
    Job,
    JobAssignment,
    LineKind,
    Outcome,
    PartCondition,
    PlacedHold,
    QuoteLine,
    QuoteOption,
    Shop,
    TestKind,
    WorkOrder,
)
from shopapp.queries.approvals import approved_options, signed_intake
from shopapp.queries.engines import MountedEngine, engine_words, mounted_engines, serial_words
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.vessels import boat_line

SCHEMA = 1
# a fee is nothing that anybody does at the bench
DONE_AT_THE_BENCH = (LineKind.PART, LineKind.LABOUR, LineKind.FLUID, LineKind.SUBLET)
# the columns of an agreed line that may be read aloud
PLAIN_COLUMNS = ("option_id", "kind", "description", "number", "quantity_milli", "unit", "condition")

type Content = dict[str, Any]


def work_order_content(work_order: WorkOrder, *, address: str) -> Content:
    """All that is on the paper of a visit fetched with its ``vessel``; ``address`` is where its code leads.

    Eight queries, however many jobs and lines there are. There is no time of day and no day of printing in
    it, so that the same state of things gives the same paper.
    """
    shop = the_shop()
    texts = texts_of(shop)
    jobs = list(Job.objects.filter(work_order=work_order).select_related("engine").order_by("position"))
    options = approved_options(jobs)
    lines = _lines([one.pk for chosen in options.values() for one in chosen], texts=texts)
    technicians = _technicians(jobs)
    return {
        "schema": SCHEMA,
        "paper_size": str(shop.paper),
        "shop": shop.name,
        "address": address,
        "number": work_order.number,
        "boat": boat_line(work_order.vessel),
        "place": _place(work_order),
        "keys_tag": work_order.keys_tag,
        "promised_shown": texts.day(work_order.promised_date) if work_order.promised_date else "",
        **_allowed(signed_intake(work_order)),
        "engines": [_engine(one, shop=shop) for one in mounted_engines([work_order.vessel_id])],
        "holds": _holds(work_order, texts=texts),
        "is_run": any(_is_run(job) for job in jobs),
        "jobs": [
            _job(job, options=options.get(job.pk, ()), lines=lines, technicians=technicians[job.pk])
            for job in jobs
        ],
    }


def _place(work_order: WorkOrder) -> str:
    if not work_order.is_boat_here:
        return _("not here")
    return work_order.place or work_order.vessel.kept_on


def _allowed(intake: Intake | None) -> Content:
    """What the customer lets the shop do with the boat, and whether replaced parts are kept for them."""
    if intake is None:
        return {
            "allowed_shown": _("not signed yet: ask before you run, move or launch it"),
            "keep_parts": False,
        }
    may = [
        (intake.may_run, _("run the engine")),
        (intake.may_move, _("move the boat")),
        (intake.may_launch, _("launch it for a test")),
    ]
    allowed = ", ".join(words for is_allowed, words in may if is_allowed)
    return {"allowed_shown": allowed or _("nothing without asking"), "keep_parts": intake.wants_parts_back}


def _engine(one: MountedEngine, *, shop: Shop) -> Content:
    since = one.laid_up.since if one.laid_up is not None else None
    return {
        "position": one.position,
        "name": one.words,
        "serial": one.serial,
        "plate": one.plate,
        "hours": "" if one.hours is None else str(one.hours),
        "laid_up_shown": "" if since is None else texts_of(shop).day(local_day(shop, since)),
    }


def _holds(work_order: WorkOrder, *, texts: ShopTexts) -> list[Content]:
    """What the visit waits for; that somebody has to pay is not for the wall."""
    rows = PlacedHold.objects.filter(work_order=work_order, released_at=None).exclude(kind=Hold.PAYMENT)
    return [
        {
            "word": str(Hold(row.kind).label),
            "job": row.job.position if row.job is not None else None,
            "note": row.note,
            "chaser": row.chaser.name,
            "chase_shown": texts.day(row.chase_date),
        }
        for row in rows.select_related("job", "chaser").order_by("chase_date", "pk")
    ]


def _technicians(jobs: Sequence[Job]) -> Mapping[int, list[str]]:
    rows = JobAssignment.objects.filter(job__in=jobs).order_by("person__name", "pk")
    found: defaultdict[int, list[str]] = defaultdict(list)
    for job, name in rows.values_list("job_id", "person__name"):
        found[job].append(name)
    return found


def _lines(options: Sequence[int], *, texts: ShopTexts) -> Mapping[int, list[Content]]:
    """Agreed lines by their option, whoever pays them: the work is the same. One query; no price is read."""
    rows = QuoteLine.objects.filter(option__in=options, kind__in=DONE_AT_THE_BENCH)
    found: defaultdict[int, list[Content]] = defaultdict(list)
    for row in rows.order_by("option_id", "position", "pk").values(*PLAIN_COLUMNS):
        found[row["option_id"]].append(_line(row, texts=texts))
    return found


def _line(row: Mapping[str, Any], *, texts: ShopTexts) -> Content:
    is_new = row["condition"] == PartCondition.NEW
    return {
        "what": row["description"],
        "number": row["number"],
        "condition_shown": "" if is_new else str(PartCondition(row["condition"]).label),
        "planned_shown": texts.quantity(row["quantity_milli"], row["unit"]),
    }


def _job(
    job: Job,
    *,
    options: Sequence[QuoteOption],
    lines: Mapping[int, list[Content]],
    technicians: Sequence[str],
) -> Content:
    return {
        "position": job.position,
        "engine": engine_words(job.engine) if job.engine is not None else "",
        "serial": serial_words(job.engine) if job.engine is not None else "",
        "technicians": list(technicians),
        "complaint": job.complaint,
        "cause": job.cause,
        "correction": job.correction,
        "agreed": [option.title for option in options],
        "lines": [line for option in options for line in lines.get(option.pk, ())],
        "test": str(TestKind(job.test_kind).label),
        "is_tested": job.test_kind != TestKind.NONE,
        "ended": "" if job.outcome == Outcome.OPEN else str(Outcome(job.outcome).label),
    }


def _is_run(job: Job) -> bool:
    """Whether somebody has to run its engine; one that is laid up is not run."""
    is_laid_up = job.engine is not None and job.engine.laid_up_at is not None
    return job.outcome == Outcome.OPEN and job.test_kind != TestKind.NONE and not is_laid_up
