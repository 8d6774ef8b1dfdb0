"""What is frozen lets exactly one change through: texts are blanked once their customer was erased."""

from typing import Any

import pytest
from django.db import DatabaseError, transaction
from django.db.models import Model

from shopapp import models as rows
from shopapp.triggers import (
    APPROVAL_FACTS,
    APPROVAL_TEXTS,
    CUSTODY_FACTS,
    ERASED_MARK,
    FROM_WHERE,
    INTAKE_FACTS,
)
from tests.models.rows import ISSUED, MOMENT, SENT, SIGNED, change, make, refused_by

pytestmark = pytest.mark.django_db

INTAKE_TEXTS = ("signed_name", "strokes", "shown")
CUSTODY_TEXTS = ("who", "place", "note")
# model → facts that never change, texts that always go, texts that go where no bill rests on the visit
PARTS: dict[type[Model], tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = {
    rows.Approval: (APPROVAL_FACTS, FROM_WHERE, APPROVAL_TEXTS),
    rows.Intake: (INTAKE_FACTS, FROM_WHERE, INTAKE_TEXTS),
    rows.CustodyEntry: (CUSTODY_FACTS, CUSTODY_TEXTS, ()),
}
SENTENCES = (
    "an answer never changes",
    "a signed intake never changes",
    "custody is only added to",
    "what a customer was shown never changes",
)
FROZEN: dict[type[Model], dict[str, Any]] = {
    rows.Intake: SIGNED | {"device": "Tablet", "address": "192.0.2.7"}
}


def frozen(model: type[Model]) -> Any:
    if model is rows.Approval:
        row = make(rows.Approval, device="Tablet", address="192.0.2.7", reason="no", strokes="{}")
        change(row.revision, state="decided")
        return row
    return make(model, **FROZEN.get(model, {}))


def visit_of(row: Any) -> rows.WorkOrder:
    if isinstance(row, rows.Approval):
        return row.revision.quote.work_order
    return row.quote.work_order if isinstance(row, rows.QuoteRevision) else row.work_order


def erase(row: Any) -> None:
    rows.Customer.objects.filter(pk=visit_of(row).customer_id).update(erased_at=MOMENT)


def bill(row: Any) -> None:
    make(rows.Invoice, **ISSUED, number="INV-00001", work_order=visit_of(row))


def blank(name: str) -> Any:
    return {"address": None}.get(name, ERASED_MARK if name in ("signed_name", "who") else "")


def refused(row: Any, **changes: Any) -> bool:
    try:
        with transaction.atomic():
            change(row, **changes)
    except DatabaseError as error:
        return refused_by(error) in SENTENCES
    return False


@pytest.mark.parametrize("model", PARTS, ids=lambda model: model.__name__)
def test_every_column_is_a_fact_or_a_text(model: type[Model]) -> None:
    """A new column has to be put on one side, or nothing would guard it."""
    facts, always, unbilled = PARTS[model]

    columns = [field.column for field in model._meta.concrete_fields]

    assert sorted((*facts, *always, *unbilled)) == sorted(columns)


@pytest.mark.parametrize("model", PARTS, ids=lambda model: model.__name__)
def test_texts_stay_while_the_customer_is_known(model: type[Model]) -> None:
    row = frozen(model)

    # what is empty already is no change at all
    filled = [name for name in (*PARTS[model][1], *PARTS[model][2]) if getattr(row, name) != blank(name)]

    assert filled
    assert [name for name in filled if not refused(frozen(model), **{name: blank(name)})] == []


@pytest.mark.parametrize("model", PARTS, ids=lambda model: model.__name__)
def test_texts_are_blanked_once_the_customer_is_erased(model: type[Model]) -> None:
    row = frozen(model)
    erase(row)

    texts = {name: blank(name) for name in (*PARTS[model][1], *PARTS[model][2])}

    assert not refused(row, **texts)
    after = model._default_manager.values(*texts).get(pk=row.pk)
    assert after == texts


@pytest.mark.parametrize("model", PARTS, ids=lambda model: model.__name__)
def test_nothing_else_is_written_into_a_text(model: type[Model]) -> None:
    row = frozen(model)
    erase(row)
    names = (*PARTS[model][1], *PARTS[model][2])

    passed = [name for name in names if not refused(row, **{name: "192.0.2.9" if name == "address" else "x"})]

    assert passed == []


@pytest.mark.parametrize(
    ("model", "column", "value"),
    [
        (rows.Approval, "with_tax_minor", 1),
        (rows.Approval, "decided_at", "2020-01-01T00:00:00Z"),
        (rows.Approval, "signed_sha256", "e" * 64),
        (rows.Approval, "how", "link"),
        (rows.Intake, "spending_limit_minor", 1),
        (rows.Intake, "signed_sha256", "e" * 64),
        (rows.Intake, "may_run", True),
        (rows.CustodyEntry, "thing", "trailer"),
        (rows.CustodyEntry, "happened_at", "2020-01-01T00:00:00Z"),
    ],
)
def test_facts_never_change(model: type[Model], column: str, value: object) -> None:
    row = frozen(model)
    erase(row)

    assert refused(row, **{column: value})


@pytest.mark.parametrize("model", [rows.Approval, rows.Intake], ids=lambda model: model.__name__)
def test_what_was_signed_stays_where_a_bill_rests_on_it_t36(model: type[Model]) -> None:
    row = frozen(model)
    erase(row)
    bill(row)
    filled = [name for name in PARTS[model][2] if getattr(row, name) != blank(name)]

    assert filled
    assert [name for name in filled if not refused(row, **{name: blank(name)})] == []
    assert not refused(row, address=None, device="")


@pytest.mark.parametrize(
    ("is_erased", "is_billed", "shown", "is_refused"),
    [
        (False, False, "", True),
        (True, True, "", True),
        (True, False, "{1}", True),
        (True, False, "", False),
    ],
)
def test_shown_text_goes_only_with_its_customer(
    *, is_erased: bool, is_billed: bool, shown: str, is_refused: bool
) -> None:
    row = make(rows.QuoteRevision, **SENT)
    if is_erased:
        erase(row)
    if is_billed:
        bill(row)

    assert refused(row, shown=shown) is is_refused
    assert refused(row, shown_sha256="e" * 64)


@pytest.mark.parametrize("model", PARTS, ids=lambda model: model.__name__)
def test_row_of_somebody_erased_still_stays(model: type[Model]) -> None:
    row = frozen(model)
    erase(row)

    with pytest.raises(DatabaseError), transaction.atomic():
        row.delete()
