"""What a page offers to do with a job, at every stage and for everybody."""

import pytest

from shopapp.models import Job, Outcome, Person, QuoteOption, Stage, Way
from shopapp.queries.job_rules import endings, is_work, may_start_now, may_waive_test, ways_back

DESK, TECHNICIAN = Person(is_front_desk=True), Person(is_technician=True)
OWNER = Person(is_owner=True)


def test_leave_it_is_no_work() -> None:
    answers = [is_work(None), *(is_work(QuoteOption(way=way)) for way in Way)]

    assert answers == [False, *(way != Way.LEAVE for way in Way)]


@pytest.mark.parametrize("stage", Stage)
def test_technician_is_offered_what_is_no_decision_of_the_desk(stage: Stage) -> None:
    job = Job(stage=stage, outcome=Outcome.DONE if stage == Stage.READY else Outcome.OPEN)

    offered = (
        ways_back(job, viewer=TECHNICIAN, is_agreed=True),
        endings(job, viewer=TECHNICIAN),
        may_waive_test(job, viewer=TECHNICIAN),
    )

    back = {
        Stage.DIAGNOSIS: (Stage.HERE,),
        Stage.IN_LINE: (Stage.DIAGNOSIS,),
        Stage.IN_HAND: (Stage.IN_LINE, Stage.DIAGNOSIS),
        Stage.TEST: (Stage.IN_HAND, Stage.DIAGNOSIS),
    }
    no_fault = (Outcome.NO_FAULT,) if stage == Stage.DIAGNOSIS else ()
    assert offered == (back.get(stage, ()), no_fault, False)


@pytest.mark.parametrize("stage", Stage)
def test_only_the_owner_is_offered_a_waiver(stage: Stage) -> None:
    offered = [may_waive_test(Job(stage=stage), viewer=viewer) for viewer in (DESK, OWNER)]

    assert offered == [False, stage == Stage.TEST]


@pytest.mark.parametrize("outcome", [one for one in Outcome if one not in (Outcome.OPEN, Outcome.DONE)])
def test_ready_job_that_was_not_done_is_only_looked_at_anew(outcome: Outcome) -> None:
    job = Job(stage=Stage.READY, outcome=outcome)

    assert ways_back(job, viewer=DESK, is_agreed=True) == (Stage.DIAGNOSIS,)


def test_declined_job_may_be_left_in_another_way() -> None:
    job = Job(stage=Stage.READY, outcome=Outcome.DECLINED_IN_BOXES)

    assert endings(job, viewer=DESK) == (Outcome.DECLINED, Outcome.DECLINED_AS_SCRAP, Outcome.LATER)
    assert endings(job, viewer=TECHNICIAN) == ()


def test_work_that_nobody_agreed_to_does_not_wait_in_line() -> None:
    job = Job(stage=Stage.IN_HAND, limit_share_minor=100)

    assert ways_back(job, viewer=DESK, is_agreed=False) == (Stage.DIAGNOSIS,)


@pytest.mark.parametrize(
    ("is_agreed", "stages"),
    [(False, {"here", "diagnosis", "in_hand"}), (True, {"in_line", "in_hand", "test"})],
)
def test_start_now_fits_where_work_may_begin(is_agreed: bool, stages: set[str]) -> None:
    found = {stage for stage in Stage.values if may_start_now(Job(stage=stage), is_agreed=is_agreed)}

    assert found == stages
