"""What fluids of a job come to, in words: figures by hand with 29.5735 ml a US fluid ounce (NIST SP 811)."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from shopapp.actions.actor import Actor
from shopapp.actions.actuals import LogFluidInput, log_fluid
from shopapp.actions.corrections import strike_row
from shopapp.models import FluidCondition, Job, Person, Stage
from shopapp.queries.actuals import ActualBook, actual_book
from shopapp.queries.fluid_changes import Capacity, fluid_changes
from tests.factories.jobs import job_at, log_parts

pytestmark = pytest.mark.django_db

By = Callable[[Person], Actor]
N = "\u00a0"
OIL = LogFluidInput(
    point="gear case",
    product="Gear oil",
    drained_ml=820,
    filled_ml=780,
    condition=FluidCondition.MILKY,
)
GEARCASE = Capacity(
    point="Gearcase",
    ml=780,
    words=f"780{N}ml (26.4{N}US{N}fl{N}oz)",
    product="Gear oil",
    level_to="the vent hole",
    page="6-4",
    is_imperial=False,
)


def told(job: Job, viewer: Person, *capacities: Capacity) -> list[tuple[str, str, tuple[str, ...], bool]]:
    found = fluid_changes(actual_book([job], viewer=viewer), capacities=capacities, locale="en")
    return [(one.point, one.amounts, one.said, one.is_odd) for one in found]


def test_more_came_out_than_fits_is_asked_about(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    log_fluid(job.pk, OIL, by=by(tobiah))

    found = fluid_changes(actual_book([job], viewer=tobiah), capacities=[GEARCASE], locale="en")

    # 820 ml is 27.7, 780 ml is 26.4, the 40 ml between them 1.4 US fl oz
    assert [(one.point, one.number, one.amounts, one.fits, one.said, one.is_odd) for one in found] == [
        (
            "Gearcase",
            None,
            f"820{N}ml (27.7{N}US fl oz) came out, 780{N}ml (26.4{N}US fl oz) went in",
            f"{GEARCASE.words} fit, to the vent hole (spec book, 6-4)",
            (
                "It came out milky: find where the water gets in.",
                f"40{N}ml (1.4{N}US fl oz) more came out than belongs in. Is there water in it?",
            ),
            True,
        )
    ]


def test_without_a_capacity_what_went_in_is_compared(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    log_fluid(
        job.pk, replace(OIL, drained_ml=500, filled_ml=0, condition=FluidCondition.CLEAN), by=by(tobiah)
    )

    assert told(job, tobiah) == [
        (
            "gear case",
            f"500{N}ml (16.9{N}US fl oz) came out, nothing is filled in yet",
            ("How much fits is not in the spec book, so nothing can be compared yet.",),
            False,
        )
    ]
    assert told(job, tobiah, GEARCASE)[0][2] == (
        f"280{N}ml (9.5{N}US fl oz) less came out than fits. Lost before, or still inside?",
    )


@pytest.mark.parametrize(
    ("drained", "filled", "said"),
    [
        (780, 0, "As much came out as fits."),
        (780, 780, "As much went in as came out."),
        (0, 20, "Topped up."),
    ],
)
def test_what_is_right_is_said_plainly(tobiah: Person, by: By, drained: int, filled: int, said: str) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    look = FluidCondition.CLEAN if drained else FluidCondition.NOT_DRAINED
    log_fluid(job.pk, replace(OIL, drained_ml=drained, filled_ml=filled, condition=look), by=by(tobiah))

    assert told(job, tobiah, GEARCASE)[0][2:] == ((said,), False)


def test_points_are_reckoned_apart_and_changes_are_counted(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    clean = replace(OIL, condition=FluidCondition.CLEAN)
    sump = replace(clean, point="Engine sump", product="Engine oil", drained_ml=2_600, filled_ml=2_600)
    for one in (clean, sump, replace(clean, point="Gearcase", drained_ml=780)):
        log_fluid(job.pk, one, by=by(tobiah))

    found = fluid_changes(actual_book([job], viewer=tobiah), capacities=[GEARCASE], locale="en")

    assert [(one.point, one.number) for one in found] == [
        ("Gearcase", 1),
        ("Gearcase", 2),
        ("Engine sump", None),
    ]
    # from one litre on in litres: 2.6 l are 2.75 US qt
    assert found[2].amounts.startswith(f"2.6{N}l (2.75{N}US qt) came out")


def test_imperial_book_is_answered_in_imperial_jugs(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    log_fluid(job.pk, OIL, by=by(tobiah))

    # 28.41306 ml an imperial fluid ounce (NIST SP 811): 820 ml are 28.9
    assert told(job, tobiah, replace(GEARCASE, is_imperial=True))[0][1].startswith(
        f"820{N}ml (28.9{N}imp fl oz) came out"
    )


def test_struck_rows_count_nothing(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    row = log_fluid(job.pk, OIL, by=by(tobiah))
    strike_row(("fluid_entry", row.pk), reason="wrong boat", by=by(tobiah))

    assert told(job, tobiah, GEARCASE) == []


def test_half_a_book_is_not_reckoned_up(tobiah: Person, by: By) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)
    log_fluid(job.pk, OIL, by=by(tobiah))
    log_parts(job, tobiah, count=300, at=by(tobiah).at)

    assert told(job, tobiah, GEARCASE) == []
    assert fluid_changes(ActualBook(rows=(), has_older=False), locale="en") == ()
