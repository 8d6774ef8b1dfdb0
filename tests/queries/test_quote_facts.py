"""The facts a quote rests on: boat and engine in words, photos that were there then."""

from datetime import datetime

import pytest

from shopapp.actions import quotes
from shopapp.models import EngineMounting, Job, Person
from shopapp.queries.frozen_sums import rules_from, treatments_from
from shopapp.queries.quote_facts import engine_line, facts_of
from shopapp.queries.shop import rules_of, the_shop, treatments_at
from shopapp.queries.shown import content_from_rows, revision_rows, stored_content
from tests.factories import EngineFactory
from tests.factories.quotes import desk, draft_quote, sent_quote

pytestmark = pytest.mark.django_db


def test_engine_line_tells_twins_apart() -> None:
    engine = EngineFactory(make="Petrel Marine", model="P60", serial="PM60-7")

    assert engine_line(engine, position="port") == "Petrel Marine P60, port, PM60-7"
    assert engine_line(None) == ""


def test_facts_name_the_place_on_the_transom(ilse: Person, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)
    EngineMounting.objects.update(position="starboard")

    facts = facts_of(revision_rows(draft.pk), shop=the_shop(), day=now.date(), at=now)

    job = Job.objects.get()
    assert facts["jobs"][str(job.pk)]["engine_shown"] == f"Petrel Marine P60, starboard, {job.engine.serial}"


def test_frozen_rules_give_the_same_sums(ilse: Person, now: datetime) -> None:
    facts = stored_content(sent_quote(ilse, at=now))["facts"]

    assert rules_from(facts) == rules_of(the_shop())
    assert treatments_from(facts) == treatments_at(now.date())


def test_facts_of_sent_skip_later_photos(ilse: Person, tobiah: Person, now: datetime) -> None:
    draft = draft_quote(ilse, at=now)
    job = Job.objects.get()
    photo = {"work_order": job.work_order, "width": 1, "height": 1, "byte_size": 1, "taken_by": tobiah}
    job.photos.create(sha256="a" * 64, caption="the seal", taken_at=now, **photo)
    sent = quotes.send_quote(draft.pk, version=1, by=desk(ilse, at=now))
    job.photos.create(sha256="b" * 64, caption="later", taken_at=now, **photo)

    facts = content_from_rows(revision_rows(sent.pk))["facts"]

    assert facts["jobs"][str(job.pk)]["photos"] == [{"sha256": "a" * 64, "caption": "the seal"}]
