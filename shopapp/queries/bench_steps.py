"""Steps on the bench page of a job, and what a tablet needs to go on ticking without a network."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from shopapp.models import Job, Person
from shopapp.queries.steps import StepRow, steps_of


@dataclass(frozen=True, kw_only=True)
class BenchSteps:
    """``known`` goes into the page as it is: by step, how many fasteners each stage has, what is ticked."""

    rows: tuple[StepRow, ...]
    missing: int
    known: Mapping[str, Any]

    @property
    def joints(self) -> tuple[StepRow, ...]:
        """Those that have a drawing of their own."""
        return tuple(row for row in self.rows if row.joint is not None)


def bench_steps(job: Job, *, viewer: Person) -> BenchSteps:
    """The steps of a job that ``find_job`` found. One query."""
    rows = steps_of(job, viewer=viewer)
    return BenchSteps(
        rows=rows,
        missing=sum(row.is_open for row in rows),
        known={str(row.pk): _known(row) for row in rows},
    )


def _known(row: StepRow) -> Mapping[str, Any]:
    """Noughts stand for a step or a stage as a whole."""
    stages = row.joint.stages if row.joint is not None else ()
    return {
        "required": row.is_required and not row.waiver,
        "stages": [len(stage.spots) for stage in stages],
        "ticks": [
            [one.stage or 0, one.fastener or 0, one.who_pk, one.who, one.happened_at.isoformat()]
            for one in row.ticks
            if not one.is_struck
        ],
    }
