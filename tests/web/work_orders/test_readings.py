"""The page of a job's readings: what was measured, the limits in force, and a form for each kind."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.actions.readings import log_reading
from shopapp.models import Job, Person, ReadingKind, Stage
from shopapp.web.shared.reading_forms import ReadingForm
from tests.actions.test_readings import WARM
from tests.factories.jobs import job_at
from tests.factories.spec_book import written_family
from tests.web.shared.bad_values import tried_values

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]


@pytest.fixture
def job(tobiah: Person, maren: Person, by: By) -> Job:
    row = job_at(Stage.DIAGNOSIS, technician=tobiah)
    row.engine.family = written_family(by(maren))
    row.engine.save(update_fields=["family"])
    return row


@pytest.mark.parametrize("kind", ReadingKind)
def test_page_has_a_form_for_each_kind(job: Job, tobiah: Person, signed_in: SignedIn, kind: str) -> None:
    answer = signed_in(tobiah).get(f"/work-orders/job/{job.pk}/readings/", {"reading": kind})

    content = answer.content.decode()
    assert (answer.status_code, f'name="reading" value="{kind}"' in content) == (200, True)
    assert ("lanyard" in content) == (kind not in ("gearcase_pressure", "gearcase_vacuum"))


def test_form_shows_the_cylinders_of_the_family(job: Job, tobiah: Person, signed_in: SignedIn) -> None:
    content = signed_in(tobiah).get(f"/work-orders/job/{job.pk}/readings/").content.decode()

    assert ('name="value_3"' in content, 'name="value_4"' in content) == (True, False)
    assert "850" in content


def test_visit_counts_readings_for_everybody_on_it(
    job: Job, tobiah: Person, ilse: Person, signed_in: SignedIn, by: By
) -> None:
    log_reading(job.pk, WARM, by=by(tobiah))

    for person in (tobiah, ilse):
        content = signed_in(person).get(f"/work-orders/{job.work_order_id}/")
        told = content.content.decode()
        assert (f"/work-orders/job/{job.pk}/readings/" in told, "1 reading<" in told) == (True, True)
        assert "1 out of limits" in told


def test_others_readings_are_404(job: Job, wen: Person, signed_in: SignedIn) -> None:
    assert signed_in(wen).get(f"/work-orders/job/{job.pk}/readings/").status_code == 404


@pytest.mark.parametrize("kind", ReadingKind)
def test_forms_stand_every_bad_value(kind: str) -> None:
    fields = ReadingForm(reading=ReadingKind(kind), locale="en_CA").fields
    good = {
        "reading": kind,
        "value": "5",
        "second": "4",
        "minutes": "5",
        **{f"{name}_1": "4" for name in ("value", "second")},
        "unit": str(fields["unit"].choices[0][0]) if "unit" in fields else "",
    }
    assert ReadingForm(good, locale="en_CA").is_valid()
    # cylinders are alike, so the first two stand for all
    alike = [f"_{number}" for number in range(3, 17)]
    names = [name for name in fields if not name.endswith(tuple(alike))]
    for place, value in enumerate(tried_values()):
        form = ReadingForm(good | {names[place % len(names)]: value}, locale="en_CA")

        assert (form.is_valid() and form.as_input()) or form.errors
