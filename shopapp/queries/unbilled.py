"""What of ended work is on no bill: what may be billed now, and what waits for somebody's word."""

from dataclasses import dataclass

from shopapp.calc.agreed import Standing
from shopapp.models import Job, Outcome, TimeEntry, TimeKind, WorkOrder
from shopapp.queries.actual_rows import RowKey
from shopapp.queries.approvals import signed_intake
from shopapp.queries.over_agreed import HeldRow, over_agreed
from shopapp.queries.proposals import Proposal, proposals

# of a job with a fixed price the bill is whole without them
WITHOUT_A_WORD = (Standing.NO_ROOM, Standing.NOT_PRICED)


@dataclass(frozen=True, kw_only=True)
class Unbilled:
    """``lines`` may be billed now; ``waiting`` are rows that nobody agreed to or priced, nor gave up."""

    lines: tuple[Proposal, ...]
    waiting: tuple[HeldRow, ...]


def unbilled(work_order: WorkOrder) -> Unbilled:
    """What of a visit is on no bill; at most eighteen queries.

    A row waits where its job has ended and it may not be billed as it is: it goes beyond what was agreed or
    has no price yet. Extra work on a job that was done at a fixed price waits for nobody: that price covers
    whatever was used. Hours of diagnosis are inside the fee where one was agreed.
    """
    held = over_agreed(work_order).held
    lines = proposals(work_order, held=frozenset(row.key for row in held)).lines
    return Unbilled(lines=lines, waiting=_waiting(work_order, held) if held else ())


def _waiting(work_order: WorkOrder, held: tuple[HeldRow, ...]) -> tuple[HeldRow, ...]:
    outcomes = dict(Job.objects.filter(work_order=work_order).values_list("pk", "outcome"))
    in_the_fee = _in_the_fee(work_order, held)
    return tuple(row for row in held if row.key not in in_the_fee and _is_waiting(row, outcomes[row.job_pk]))


def _is_waiting(row: HeldRow, outcome: str) -> bool:
    if outcome == Outcome.OPEN:
        return False
    return outcome != Outcome.DONE or row.standing in WITHOUT_A_WORD


def _in_the_fee(work_order: WorkOrder, held: tuple[HeldRow, ...]) -> frozenset[RowKey]:
    terms = signed_intake(work_order)
    if terms is None or not terms.diagnosis_fee_minor:
        return frozenset()
    hours = [key for name, key in (row.key for row in held) if name == "time_entry"]
    rows = TimeEntry.objects.filter(pk__in=hours, kind=TimeKind.DIAGNOSIS, plan_line=None)
    return frozenset(("time_entry", pk) for pk in rows.values_list("pk", flat=True))
