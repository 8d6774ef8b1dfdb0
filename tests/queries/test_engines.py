"""Engines in words, on their boats, with their hours."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Engine, EngineMounting
from shopapp.queries.engines import (
    MountedEngine,
    Reading,
    engine_page,
    engine_words,
    mounted_engines,
    mounting_now,
    serial_words,
)
from tests.factories import CustomerFactory, EngineFactory, JobFactory, VesselFactory, WorkOrderFactory

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("fields", "words", "serial"),
    [
        (
            {"make": "Sorrel", "model": "40", "serial": "S-1", "serial_state": "read"},
            "Sorrel 40",
            "S-1",
        ),
        ({"make": "Sorrel", "serial_state": "plate_gone"}, "Sorrel", "serial: plate is gone"),
        ({}, "engine not known yet", "serial: not looked yet"),
    ],
)
def test_engine_words_say_what_is_known(fields: dict[str, str], words: str, serial: str) -> None:
    engine = Engine(**fields)

    assert (engine_words(engine), serial_words(engine)) == (words, serial)


def test_mounted_engines_show_latest_hours_only() -> None:
    vessel = VesselFactory()
    port, starboard = EngineFactory(serial="P-1"), EngineFactory(serial="", serial_state="unreadable")
    gone = EngineFactory()
    for engine, position, until in ((starboard, "starboard", None), (port, "port", None)):
        EngineMounting.objects.create(
            engine=engine, vessel=vessel, position=position, from_date=date(2026, 1, 1), until_date=until
        )
    EngineMounting.objects.create(
        engine=gone, vessel=vessel, from_date=date(2025, 1, 1), until_date=date(2026, 1, 1)
    )
    for tenths, day in ((4125, 3), (4010, 2), (3990, 1)):
        port.hour_readings.create(tenths=tenths, source="meter", read_at=datetime(2026, 6, day, tzinfo=UTC))

    engines = mounted_engines([vessel.pk])

    shared = {"vessel_pk": vessel.pk, "words": "Petrel Marine P60", "laid_up": None}
    assert engines == (
        MountedEngine(pk=port.pk, serial="P-1", plate="", position="port", hours=Decimal("412.5"), **shared),
        MountedEngine(
            pk=starboard.pk,
            serial="",
            plate="serial: plate can't be read",
            position="starboard",
            hours=None,
            **shared,
        ),
    )


@pytest.mark.parametrize("size", [1, 100])
def test_mounted_engines_take_one_query(size: int, django_assert_num_queries: DjangoAssertNumQueries) -> None:
    vessels = [VesselFactory(owner=CustomerFactory()) for _ in range(size)]
    for vessel in vessels:
        EngineFactory(vessel=vessel)

    with django_assert_num_queries(1):
        engines = mounted_engines(vessel.pk for vessel in vessels)

    assert len(engines) == size


def test_engine_page_names_boat_owner_and_hours() -> None:
    vessel = VesselFactory(name="Kittiwake", owner=CustomerFactory(name="Anna Berg"))
    engine = EngineFactory(vessel=vessel)
    moment = datetime(2026, 6, 3, tzinfo=UTC)
    engine.hour_readings.create(tenths=4125, source="customer", read_at=moment)

    page = engine_page(engine, mounting=mounting_now(engine.pk))

    assert (page.words, page.vessel_pk, page.boat, page.owner) == (
        "Petrel Marine P60",
        vessel.pk,
        "Kittiwake",
        "Anna Berg",
    )
    assert page.readings == (Reading(hours=Decimal("412.5"), source="customer says", read_at=moment),)


def test_engine_off_any_boat_has_a_page() -> None:
    engine = EngineFactory()

    page = engine_page(engine, mounting=mounting_now(engine.pk))

    assert (page.vessel_pk, page.boat, page.owner_pk, page.owner, page.readings) == (None, "", None, "", ())


def test_each_of_twins_has_its_own_jobs() -> None:
    vessel = VesselFactory()
    port, starboard = EngineFactory(vessel=vessel), EngineFactory(vessel=vessel)
    visit = WorkOrderFactory(vessel=vessel)
    done = JobFactory(work_order=visit, engine=port, stage="ready", outcome="done", correction="New seals")
    gone = {"stage": "ready", "outcome": "declined", "correction": "New powerhead"}
    JobFactory(work_order=visit, engine=starboard, position=2, **gone)

    pages = [engine_page(engine, mounting=mounting_now(engine.pk)) for engine in (port, starboard)]

    facts = [[(job.correction, job.outcome, job.stage.code) for job in page.jobs] for page in pages]
    assert facts == [
        [("New seals", "done", "ready")],
        [("", "declined: put back together", "ready")],
    ]
    assert pages[0].jobs[0].pk == done.pk
