"""The demo shop is filled once, through the real actions, with a forward-running story."""

from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import pytest
from django.contrib.auth.hashers import check_password
from django.core.management import call_command
from django.test import override_settings
from pytest_django import DjangoDbBlocker

from shopapp.actions.activity import first_bad_link
from shopapp.actions.answers import first_unfaithful_answer
from shopapp.files.photos import read_photo
from shopapp.models import (
    Activity,
    Approval,
    CallSlip,
    CustodyEntry,
    Engine,
    EngineFamily,
    Hold,
    Intake,
    Invoice,
    Job,
    JobStep,
    JobTest,
    Outcome,
    ParkedForm,
    Person,
    Photo,
    PlacedHold,
    Quote,
    Reading,
    Refund,
    RevisionState,
    SignedHow,
    Stage,
    StepList,
    SubletEntry,
    WasteContainer,
    WorkOrder,
)
from shopapp.queries.actuals import actual_book
from shopapp.queries.fluid_changes import fluid_changes
from shopapp.queries.invoices import balance_of, with_paid
from shopapp.queries.log_offers import log_offers
from shopapp.queries.used_oil import level, with_level
from tests.states import truths
from tests.web.answers import rolled_back

# made once: a parallel run keeps these tests in one worker
pytestmark = pytest.mark.django_db
SAID = StringIO()
# nothing is booked yet, so no action leads there
REACHED = set(Stage.values) - {Stage.BOOKED}


@pytest.fixture(scope="module")
def _demo(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Path]:
    """The whole demo, made once for all tests of this file and gone after them."""
    folder = tmp_path_factory.mktemp("demo")
    stores = override_settings(DATA_DIR=folder, PHOTO_DIR=folder / "photos")
    with django_db_blocker.unblock(), stores, rolled_back():
        call_command("demo_shop", stdout=SAID)
        yield folder


@pytest.fixture
def demo(_demo: Path, db: None) -> Iterator[Path]:
    """The demo as it was made, with its own folder."""
    with override_settings(DATA_DIR=_demo, PHOTO_DIR=_demo / "photos"):
        yield _demo


def test_demo_shows_every_stage_and_every_hold(demo: Path) -> None:
    assert set(WorkOrder.objects.values_list("stage", flat=True)) == REACHED
    assert set(PlacedHold.objects.filter(released_at=None).values_list("kind", flat=True)) == set(Hold.values)
    assert 45 <= WorkOrder.objects.count() <= 60


def test_demo_shows_every_state_of_a_bill(demo: Path) -> None:
    issued = with_paid().exclude(issued_at=None).filter(kind="invoice")
    owed = {(balance_of(one) > 0, balance_of(one) < one.total_minor) for one in issued}

    assert owed == {(True, False), (True, True), (False, True)}
    assert Invoice.objects.filter(issued_at=None).exists()
    assert Invoice.objects.filter(kind="credit_note").exists()
    assert Invoice.objects.filter(work_order=None, number__isnull=False).count() == 4
    assert Invoice.objects.filter(payments__work_order__isnull=False, deposit_minor__gt=0).exists()
    assert issued.filter(customer__is_account=True).exists()
    assert Refund.objects.exists()


def test_demo_shows_every_way_of_asking_and_ending(demo: Path) -> None:
    assert set(Approval.objects.values_list("how", flat=True)) == {"here", "link", "phone"}
    assert Approval.objects.filter(decision="declined").exists()
    assert Quote.objects.filter(is_supplement=True, revisions__state=RevisionState.DECIDED).exists()
    assert Quote.objects.filter(revisions__state=RevisionState.REPLACED).exists()
    assert Quote.objects.filter(revisions__state=RevisionState.DRAFT).exists()
    signed = set(Intake.objects.exclude(signed_at=None).values_list("signed_how", flat=True))
    assert signed == set(SignedHow.values)
    ended = {Outcome.DONE, Outcome.NO_FAULT, Outcome.DECLINED}
    assert set(Job.objects.values_list("outcome", flat=True)) >= ended
    assert Job.objects.filter(caused_by_job__isnull=False).count() == 2


def test_demo_shows_what_lies_beside_the_visits(demo: Path) -> None:
    assert CallSlip.objects.filter(done_at=None).count() == 3
    assert ParkedForm.objects.filter(path="/arrivals/new/").exists()
    assert SubletEntry.objects.filter(back_at=None).exists()
    levels = [(row.name, level(row).ml) for row in with_level(WasteContainer.objects.order_by("name"))]
    assert levels == [("Oil drum", 10_330), ("Oily water can", 18_140)]
    assert WorkOrder.objects.open().filter(is_boat_here=False).exists()
    assert CustodyEntry.objects.filter(move="out", thing="trailer").exists()
    assert Job.objects.filter(engine__mountings__position="starboard").exists()


def test_demo_tells_the_story_of_the_milky_oil_to_its_end(demo: Path) -> None:
    visit = WorkOrder.objects.get(complaint__startswith="The gear oil looks milky")

    assert visit.stage == Stage.GONE
    assert visit.photos.count() == 8
    assert visit.intakes.get().signed_name == "Halvard Osei"
    assert list(visit.quotes.order_by("pk").values_list("is_supplement", flat=True)) == [False, True]
    assert visit.jobs.get().caused_by_job is not None
    assert balance_of(with_paid().get(work_order=visit)) == 0
    assert visit.invoices.get().deposit_minor == 250_00
    people = visit.jobs.get().timeentrys.values_list("person__username", flat=True)
    assert set(people) == {"tobiah", "wen"}


def test_milky_oil_is_reckoned_up_and_stands_in_its_container(demo: Path) -> None:
    job = Job.objects.select_related("engine").get(
        work_order__complaint__startswith="The gear oil looks milky"
    )
    tobiah = Person.objects.get(username="tobiah")
    offers = log_offers(job, viewer=tobiah, locale="en")

    found = fluid_changes(actual_book([job], viewer=tobiah), capacities=offers.capacities, locale="en")

    assert found[0].said == (
        "It came out milky: find where the water gets in.",
        # 840 ml came out, 780 ml belong in: 60 ml are 2.03 US fl oz
        "60\xa0ml (2\xa0US fl oz) more came out than belongs in. Is there water in it?",
    )
    assert job.fluidentrys.get(drained_ml=840).pour.container.name == "Oily water can"


def test_demo_has_a_spec_book_and_readings_judged_by_it(demo: Path) -> None:
    assert list(EngineFamily.objects.order_by("make").values_list("make", flat=True)) == [
        "Norsk Tern",
        "Petrel Marine",
        "Sorrel",
    ]
    readings = Reading.objects.order_by("happened_at").values_list("kind", "verdict")
    assert list(readings) == [
        ("gearcase_pressure", "in_limits"),
        ("gearcase_vacuum", "out_of_limits"),
        ("compression", "in_limits"),
    ]


def test_photos_of_the_demo_lie_in_its_store(demo: Path) -> None:
    names = set(Photo.objects.values_list("sha256", flat=True))

    assert len(names) == 10
    assert all(read_photo(name)[:4] == b"RIFF" for name in names)


def test_demo_holds_what_must_always_be_true(demo: Path) -> None:
    assert first_bad_link() is None
    assert first_unfaithful_answer() is None
    assert not Activity.objects.filter(payload__contains="clock_went_back").exists()
    truths.check_numbers()
    truths.check_stages()
    truths.check_shown_lines()


def test_second_run_keeps_what_is_there_and_tells_sign_ins_that_work(demo: Path) -> None:
    before, said = list(WorkOrder.objects.order_by("pk").values()), StringIO()

    call_command("demo_shop", stdout=said)

    assert list(WorkOrder.objects.order_by("pk").values()) == before
    line = next(line for line in said.getvalue().splitlines() if line.startswith("Maren"))
    maren = Person.objects.get(username="maren")
    assert maren.check_password(line.split()[-1])
    assert check_password(line.split(" PIN ")[1].split()[0], maren.pin.code)
    assert (demo / "sign-ins.txt").stat().st_mode & 0o077 == 0


def test_demo_shows_steps_and_a_joint_that_is_half_tightened(demo: Path) -> None:
    joints = [one for one in JobStep.objects.exclude(joint={}).order_by("pk") if one.joint["is_makers"]]

    assert StepList.objects.filter(is_active=True).count() == 2
    assert [(one.joint["name"], one.ticks.count(), one.is_done) for one in joints] == [
        ("Gearcase to midsection", 10, False)
    ]
    assert Stage.IN_HAND in JobStep.objects.values_list("job__stage", flat=True)


def test_demo_shows_an_engine_that_is_fogged_after_its_test(demo: Path) -> None:
    engine = Engine.objects.get(laid_up_at__isnull=False)
    test = JobTest.objects.get(job=engine.laid_up_on, has_passed=True)

    assert str(engine.laid_up_by) == "Wen Okafor (wen)"
    assert (test.job.engine, test.tested_at < engine.laid_up_at) == (engine, True)
