"""A quote that was sent before content grew still rebuilds to its text, checks out, prints, is answered."""

import json
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from shopapp.actions import approvals, quotes
from shopapp.actions.approvals import DecisionInput
from shopapp.actions.refusals import Refused
from shopapp.documents.canonical import canonical, digest
from shopapp.documents.quotes import quote_html, verified_approval, verified_content
from shopapp.models import (
    Customer,
    Engine,
    Job,
    Payer,
    Person,
    QuoteOption,
    QuoteRevision,
    RevisionState,
    Stage,
    TaxCode,
    Vessel,
    Way,
    WorkOrder,
)
from shopapp.queries.shown import content_from_rows, content_on_frozen_facts, draft_content, revision_rows
from shopapp.queries.shown_schemas import SCHEMA, in_schema
from tests.factories import JobFactory
from tests.factories.quotes import OIL, SEAL, SEALS, answered, behind, desk, draft_quote, opened_link

pytestmark = pytest.mark.django_db

# written by the program as it was when each schema was in force, on 25 and 26 November 2026
STORED = {schema: Path(__file__).with_name(f"quote_schema_{schema}.json") for schema in (1, 2)}


def written_draft(person: Person, now: datetime) -> QuoteRevision:
    """The draft from which the stored text was made."""
    job = JobFactory(complaint="Gear oil looks milky", cause="A groove under the shaft seal")
    Vessel.objects.update(name="Kittiwake", make="Sorrel", model="S19")
    Engine.objects.update(serial="PM60-00001")
    Customer.objects.update(name="Aud Nilsen")
    WorkOrder.objects.update(number="W-00001")
    visit, by = WorkOrder.objects.get(pk=job.work_order_id), desk(person, at=now)
    draft = draft_quote(person, at=now, work_order=visit)
    choice = draft.choices.get()
    leave = replace(SEALS, way=Way.LEAVE, title="Leave it, do not run it", days=0, warranty_months=0)
    quotes.add_option(choice.pk, leave, by=by)
    first = choice.options.get(position=1)
    quotes.add_line(first.pk, replace(OIL, payer=Payer.SHOP), by=by)
    quotes.add_line(first.pk, replace(SEAL, discount=Decimal("0.1")), by=by)
    return draft


def stored_text(draft: QuoteRevision, *, schema: int) -> str:
    """The stored text of a schema with the ids of these rows in the places of 1, 2 and 3."""
    content: dict[str, Any] = json.loads(STORED[schema].read_text(encoding="utf-8"))
    choice = draft.choices.get()
    codes = {str(n): code.pk for n, code in enumerate(TaxCode.objects.order_by("pk"), start=1)}
    options = {option.position: option.pk for option in choice.options.all()}
    facts = content["facts"]
    facts["jobs"] = {str(choice.job_id): facts["jobs"]["1"]}
    facts["taxes"] = {str(codes[n]): tax for n, tax in facts["taxes"].items()}
    for job in content["jobs"]:
        job["job"], job["choice"] = choice.job_id, choice.pk
        for option in job["options"]:
            option["option"] = options[option["option"]]
            for line in option["lines"]:
                line["tax_code"] = codes[str(line["tax_code"])]
    return canonical(content)


@pytest.fixture(params=sorted(STORED))
def elder(request: pytest.FixtureRequest, ilse: Person, now: datetime) -> QuoteRevision:
    """A quote that was sent when an elder schema was in force."""
    draft = written_draft(ilse, now)
    text = stored_text(draft, schema=request.param)
    day = now.date()
    QuoteRevision.objects.filter(pk=draft.pk).update(
        state=RevisionState.SENT,
        sent_at=now,
        tax_date=day,
        valid_until_date=day + timedelta(days=30),
        shown=text,
        shown_sha256=digest(text),
    )
    Job.objects.update(stage=Stage.WITH_CUSTOMER)
    WorkOrder.objects.update(stage=Stage.WITH_CUSTOMER)
    return QuoteRevision.objects.get(pk=draft.pk)


@pytest.mark.parametrize("rebuild", [content_from_rows, content_on_frozen_facts])
def test_elder_schema_rebuilds_to_its_text(elder: QuoteRevision, rebuild: Any) -> None:
    assert json.loads(elder.shown)["schema"] < SCHEMA
    assert canonical(rebuild(revision_rows(elder.pk))) == elder.shown


def test_elder_schema_checks_out_and_is_drawn(elder: QuoteRevision) -> None:
    html = quote_html(verified_content(revision_rows(elder.pk)), paper_size="a4")

    shown = ["A – New seals on the old shaft", "C – Leave it, do not run it", "−", "Shop (goodwill)"]
    assert [text for text in shown if text not in html] == []


def test_elder_schema_is_answered_and_holds(elder: QuoteRevision, ilse: Person, now: datetime) -> None:
    answered(elder, ilse, at=now)

    answer = verified_approval(revision_rows(elder.pk))

    assert answer is not None
    content = json.loads(elder.shown)
    first = content["jobs"][0]["options"][0]
    assert f"{answer.with_tax_minor / 100:.2f}" == first["totals"]["with_tax"]


def test_elder_schema_refuses_a_changed_line(elder: QuoteRevision, ilse: Person, now: datetime) -> None:
    link, _token = opened_link(elder, ilse, at=now)
    option = QuoteOption.objects.get(position=1)
    Job.objects.update(cause="Something else")
    data = DecisionInput(is_declined=False, chosen={option.choice_id: option.pk}, signed_name="Aud Nilsen")

    with pytest.raises(Refused, match="changed something"):
        approvals.decide(elder.pk, data, by=behind(link, at=now + timedelta(minutes=1)))


def test_newest_schema_is_left_alone(ilse: Person, now: datetime) -> None:
    content = draft_content(revision_rows(written_draft(ilse, now).pk), at=now)

    assert content["schema"] == SCHEMA
    assert in_schema(content, schema=SCHEMA) == content


def test_unknown_schema_is_refused() -> None:
    with pytest.raises(ValueError, match="no schema 9"):
        in_schema({}, schema=9)
