"""Steps are put on a job by hand, from a list and from the spec book; they keep it from being ready."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from shopapp.actions import job_endings, job_tests, jobs, spec_book
from shopapp.actions.actor import Actor
from shopapp.actions.refusals import NotAllowed, Refused
from shopapp.actions.step_ticks import TickInput, tick_step
from shopapp.actions.steps import (
    MOST_REQUIRED,
    JointInput,
    StepInput,
    add_joint,
    add_step,
    add_step_list,
    remove_step,
    waive_step,
)
from shopapp.calc.errors import BadInput
from shopapp.calc.tightening import Fastener
from shopapp.calc.units import Unit
from shopapp.models import Activity, Job, JobStep, Outcome, Person, Stage, TighteningSpec
from tests.factories.jobs import job_at
from tests.factories.spec_book import HEAD
from tests.factories.steps import COVER, job_with_family, step_list, with_joint, with_step

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
GASKETS = StepInput(text=" New  plug gaskets ")


def texts(job: Job) -> list[str]:
    """The steps that stand on a job."""
    return list(job.steps.filter(removed_at=None).order_by("position").values_list("text", flat=True))


def at(job: Job) -> tuple[str, str]:
    job.refresh_from_db()
    return job.stage, job.outcome


def test_step_by_hand_stands_on_the_job(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    row = add_step(job.pk, GASKETS, by=by(tobiah))

    assert (row.text, row.position, row.is_required, row.added_by) == ("New plug gaskets", 1, True, tobiah)
    assert Activity.objects.values_list("verb", flat=True).get() == "add steps"


@pytest.mark.parametrize("text", ["", " \t ", "x" * 201])
def test_step_of_no_words_or_too_many_is_refused(tobiah: Person, by: By, text: str) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    with pytest.raises(BadInput, match="what is to be done"):
        add_step(job.pk, StepInput(text=text), by=by(tobiah))


def test_strangers_and_jobs_that_are_ready_get_no_step(tobiah: Person, wen: Person, by: By) -> None:
    job = job_at(Stage.READY, technician=tobiah)

    with pytest.raises(NotAllowed):
        add_step(job.pk, GASKETS, by=by(wen))
    with pytest.raises(Refused, match="stay as they are once it is ready"):
        add_step(job.pk, GASKETS, by=by(tobiah))


def test_ninth_required_step_is_asked_about(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    for number in range(MOST_REQUIRED):
        with_step(job, f"Step {number}", by=by(tobiah))

    with pytest.raises(Refused, match=r"8 required steps .* Which must not be forgotten"):
        with_step(job, "The ninth", by=by(tobiah))
    with_step(job, "The ninth", by=by(tobiah), is_required=False)

    assert len(texts(job)) == MOST_REQUIRED + 1


def test_list_comes_with_its_lines_once(ilse: Person, by: By) -> None:
    job, chosen = job_at(Stage.DIAGNOSIS), step_list()

    add_step_list(job.pk, chosen.pk, by=by(ilse))
    with pytest.raises(Refused, match="“Gear oil change” are on this job already"):
        add_step_list(job.pk, chosen.pk, by=by(ilse))

    assert texts(job) == ["New plug gaskets", "Old oil looked at"]
    assert [one.is_required for one in job.steps.order_by("position")] == [True, False]


def test_list_that_is_offered_no_more_is_refused(ilse: Person, by: By) -> None:
    job, chosen = job_at(Stage.DIAGNOSIS), step_list()
    chosen.is_active = False
    chosen.save()

    with pytest.raises(BadInput, match="one of the lists that are offered"):
        add_step_list(job.pk, chosen.pk, by=by(ilse))


def test_line_with_a_joint_brings_the_joint_of_this_engine(maren: Person, by: By) -> None:
    job, chosen = job_with_family(Stage.IN_HAND, by=by(maren)), step_list()
    chosen.lines.create(position=3, text="Cover back on", joint="thermostat COVER", caution="work")
    chosen.lines.create(position=4, text="Bonnet on", joint="a joint of another engine")

    add_step_list(job.pk, chosen.pk, by=by(maren))

    assert texts(job)[2:] == [
        "Thermostat cover: new fasteners, these are used once",
        "Tighten: Thermostat cover",
        "Thermostat cover: brackets, clips and caps back on, nothing left in the tray",
        "Bonnet on",
    ]
    tighten = job.steps.get(text="Tighten: Thermostat cover")
    assert (tighten.caution, tighten.joint["name"]) == ("work", "Thermostat cover")


def test_joint_is_kept_as_the_book_had_it(maren: Person, by: By) -> None:
    job = job_with_family(Stage.IN_HAND, by=by(maren))
    step = with_joint(job, by=by(maren))
    spec = TighteningSpec.objects.get()
    dearer = replace(COVER.stages[0], value=Decimal(99))
    other = replace(COVER, columns_count=5, stages=(dearer,), page="9-9")

    spec_book.edit_value(("tightening", spec.pk), other, version=spec.version, by=by(maren))
    step.refresh_from_db()

    assert step.joint["page"] == "5-7"
    assert [one["words"] for one in step.joint["stages"]] == [
        "15\u00a0N·m (11.1\u00a0lbf·ft)",
        "30\u00a0N·m (22.1\u00a0lbf·ft)",
    ]
    assert step.joint["stages"][0]["order"] == [2, 1, 3]
    assert len(step.joint["places"]) == 3


def test_joint_without_one_time_fasteners_asks_for_none(maren: Person, by: By) -> None:
    plain = replace(COVER, joint="Drain plug", is_one_time=False)
    job = job_with_family(Stage.IN_HAND, plain, by=by(maren))

    with_joint(job, joint="Drain plug", by=by(maren))

    assert [one.is_required for one in job.steps.order_by("position")] == [True, False]


def test_odd_torque_is_asked_about_at_the_step(maren: Person, by: By) -> None:
    slipped = replace(
        COVER,
        stages=(replace(COVER.stages[0], value=Decimal(30), unit=Unit.POUND_FOOT),),
        fastener=Fastener(diameter=6, pitch=1, property_class="8.8"),
        is_looked_up=True,
    )
    job = job_with_family(Stage.IN_HAND, slipped, by=by(maren))

    step = with_joint(job, by=by(maren))

    assert "more than an M6 of class 8.8 usually gets" in step.joint["question"]


def test_joint_of_another_engine_is_refused(maren: Person, by: By) -> None:
    job_with_family(Stage.IN_HAND, HEAD, by=by(maren))
    other = job_at(Stage.IN_HAND)

    with pytest.raises(BadInput, match="a joint that the spec book has for this engine"):
        add_joint(other.pk, JointInput(spec=TighteningSpec.objects.get().pk), by=by(maren))


def test_missing_step_keeps_a_finished_job_from_being_ready(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah, test_kind="none")
    step = with_step(job, by=by(tobiah))
    with_step(job, "Wipe it down", is_required=False, by=by(tobiah))

    with pytest.raises(Refused, match="required step is not ticked yet: “New plug gaskets”"):
        jobs.finish_work(job.pk, by=by(tobiah))
    assert at(job) == (Stage.IN_HAND, Outcome.OPEN)
    tick_step(job.pk, TickInput(step=step.pk), by=by(tobiah))
    jobs.finish_work(job.pk, by=by(tobiah))

    assert at(job) == (Stage.READY, Outcome.DONE)


def test_passed_test_and_waived_test_wait_for_the_steps_too(tobiah: Person, maren: Person, by: By) -> None:
    job = job_at(Stage.TEST, technician=tobiah)
    with_step(job, "Cap the vent", by=by(tobiah))
    with_step(job, by=by(tobiah))
    passed = job_tests.RecordTestInput(has_passed=True)

    with pytest.raises(Refused, match="2 required steps are not ticked yet: “Cap the vent”, “New plug"):
        job_tests.record_test(job.pk, passed, by=by(tobiah))
    with pytest.raises(Refused, match="2 required steps"):
        job_endings.waive_test(job.pk, job_endings.WaiveInput(reason="winter"), by=by(maren))

    assert at(job) == (Stage.TEST, Outcome.OPEN)
    assert not job.tests.exists()


def test_failed_test_and_a_declined_job_need_no_step(tobiah: Person, ilse: Person, by: By) -> None:
    job, other = job_at(Stage.TEST, technician=tobiah), job_at(Stage.DIAGNOSIS)
    for one in (job, other):
        with_step(one, by=by(ilse))
    failed = job_tests.RecordTestInput(has_passed=False, remarks="It still leaks")

    job_tests.record_test(job.pk, failed, by=by(tobiah))
    ending = job_endings.EndInput(outcome=Outcome.DECLINED, reason="too dear")
    job_endings.end_job(other.pk, ending, by=by(ilse))

    assert (at(job)[0], at(other)[0]) == (Stage.IN_HAND, Stage.READY)


def test_owner_lets_a_job_go_without_a_step(maren: Person, tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah, test_kind="none")
    step = with_step(job, by=by(tobiah))

    with pytest.raises(NotAllowed, match="Only the owner"):
        waive_step(step.pk, reason="no gasket on this one", by=by(tobiah))
    with pytest.raises(BadInput, match="why the job may go"):
        waive_step(step.pk, reason=" ", by=by(maren))
    waive_step(step.pk, reason="no gasket on this one", by=by(maren))
    with pytest.raises(Refused, match="does not wait for"):
        waive_step(step.pk, reason="once more", by=by(maren))
    jobs.finish_work(job.pk, by=by(tobiah))

    step.refresh_from_db()
    assert (step.waiver_reason, step.waived_by, at(job)[0]) == ("no gasket on this one", maren, Stage.READY)


def test_desk_takes_an_unticked_step_off(ilse: Person, tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    step, ticked = with_step(job, by=by(tobiah)), with_step(job, "Cap the vent", by=by(tobiah))
    tick_step(job.pk, TickInput(step=ticked.pk), by=by(tobiah))

    with pytest.raises(NotAllowed):
        remove_step(step.pk, by=by(tobiah))
    with pytest.raises(Refused, match="“Cap the vent” is ticked"):
        remove_step(ticked.pk, by=by(ilse))
    remove_step(step.pk, by=by(ilse))
    remove_step(step.pk, by=by(ilse))

    assert texts(job) == ["Cap the vent"]
    assert Activity.objects.filter(verb="remove step").count() == 1
    with pytest.raises(Refused, match="was taken off this job"):
        tick_step(job.pk, TickInput(step=step.pk), by=by(tobiah))
    assert JobStep.objects.count() == 2
