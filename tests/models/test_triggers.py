"""What was issued, sent, signed or logged stays: the database refuses each change, by SQL and by the app."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.db.models import Model

from shopapp import models as rows
from shopapp.checks import guards_are_in_place
from shopapp.migrations import __path__ as migrations_path
from shopapp.triggers import SEARCH_TRIGGERS, Guard, apply_triggers, guards, remove_triggers, trigger_names
from tests.models.rows import ISSUED, SENT, SIGNED, change, make, refused_by

pytestmark = pytest.mark.django_db

# one change of each table that matters to a reader; a class stands for the key of a fresh row of it
CHANGES: dict[type[Model], dict[str, Any]] = {
    rows.Activity: {"verb": "forged"},
    rows.Approval: {"with_tax_minor": 1},
    rows.Allocation: {"amount_minor": 1},
    rows.ApprovedChoice: {"option_id": rows.QuoteOption},
    rows.BilledSource: {"plan_line_id": rows.QuoteLine},
    rows.CustodyEntry: {"note": "Somebody else"},
    rows.Intake: {"spending_limit_minor": 1},
    rows.Invoice: {"shown": "{1}"},
    rows.InvoiceLine: {"unit_price_e4": 1},
    rows.InvoiceTax: {"tax_minor": 1},
    rows.Payment: {"amount_minor": 1},
    rows.Refund: {"amount_minor": 1},
    rows.QuoteChoice: {"position": 9},
    rows.QuoteLine: {"unit_price_e4": 1},
    rows.QuoteOption: {"title": "Something else"},
    rows.QuoteRevision: {"shown": "{1}"},
}
CHILDREN = {
    rows.InvoiceLine: ("invoice", ISSUED),
    rows.InvoiceTax: ("invoice", ISSUED),
    rows.QuoteChoice: ("revision", SENT),
    rows.QuoteOption: ("choice.revision", SENT),
    rows.QuoteLine: ("option.choice.revision", SENT),
}
# an answer is complete once its revision is decided
ANSWERS = {rows.Approval: "revision", rows.ApprovedChoice: "approval.revision"}
MODELS = {model._meta.db_table: model for model in CHANGES}


def change_of(model: type[Model]) -> tuple[str, Any]:
    """Column and value of the change."""
    column, value = next(iter(CHANGES[model].items()))
    return column, make(value).pk if isinstance(value, type) else value


def parent_of(row: Any) -> dict[str, Any]:
    name = CHILDREN[type(row)][0].partition(".")[0]
    return {name: getattr(row, name)}


def whose_turn_is_over(row: Any) -> dict[str, Any]:
    """A parent under which no further row may come."""
    if isinstance(row, rows.Approval):
        return {"revision": make(rows.QuoteRevision, **SENT | {"state": "replaced"})}
    return {"approval": row.approval} if isinstance(row, rows.ApprovedChoice) else parent_of(row)


def follow(row: Any, path: str) -> Any:
    """The row at the end of ``option.choice.revision``."""
    for name in path.split("."):
        row = getattr(row, name)
    return row


def frozen(model: type[Model]) -> Any:
    """A row that may not change any more, with nothing hanging on it."""
    if model in CHILDREN:
        path, freeze = CHILDREN[model]
        row = make(model)
        parent = follow(row, path)
        change(parent, **freeze | ({"number": f"INV-{parent.pk}"} if freeze is ISSUED else {}))
        return row
    if model in ANSWERS:
        row = make(model)
        change(follow(row, ANSWERS[model]), state="decided")
        return row
    if model is rows.BilledSource:
        row = make(model)
        change(row.line.invoice, **ISSUED, number="INV-00001")
        return row
    states = {
        rows.Intake: SIGNED,
        rows.Invoice: ISSUED | {"number": "INV-00001"},
        rows.QuoteRevision: SENT,
    }
    return make(model, **states.get(model, {}))


def sentence(deed: Callable[[], object]) -> str:
    """What the database says when it refuses the deed."""
    with pytest.raises(DatabaseError) as caught, transaction.atomic():
        deed()
    return refused_by(caught.value)


def run(statement: str, *values: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def by_sql(guard: Guard, row: Model) -> None:
    """The guard's event on the row, as somebody with a database shell would do it."""
    if guard.event == "DELETE":
        return run(f"DELETE FROM {guard.table} WHERE id = %s", row.pk)
    if guard.event == "UPDATE":
        column, value = change_of(type(row))
        return run(f"UPDATE {guard.table} SET {column} = %s WHERE id = %s", value, row.pk)
    columns = ", ".join(field.column for field in type(row)._meta.concrete_fields if not field.primary_key)
    return run(
        f"INSERT INTO {guard.table} ({columns}) SELECT {columns} FROM {guard.table} WHERE id = %s", row.pk
    )


def by_rows(guard: Guard, row: Any) -> None:
    """The guard's event on the row, as the app's own code might do it by mistake."""
    if guard.event == "DELETE":
        row.delete()
        return
    if guard.event == "INSERT":
        row.pk = None
        row._state.adding = True
    setattr(row, *change_of(type(row)))
    row.save()


def catalogue() -> set[tuple[str, str, str]]:
    """Name, table and event of every trigger, from the database's own catalogue."""
    if connection.vendor == "postgresql":
        query = "SELECT trigger_name, event_object_table, event_manipulation FROM information_schema.triggers"
    else:
        query = "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'"
    with connection.cursor() as cursor:
        cursor.execute(query)
        found = cursor.fetchall()
    events = ("INSERT", "UPDATE", "DELETE")
    return {
        (name, table, next(event for event in events if f" {event} " in f" {told} "))
        for name, table, told in found
        if name not in SEARCH_TRIGGERS
    }


def test_catalogue_holds_exactly_the_guards() -> None:
    expected = {(guard.name, guard.table, guard.event) for guard in guards()}

    assert catalogue() == expected


def test_trigger_names_are_those_of_the_catalogue() -> None:
    search = set(SEARCH_TRIGGERS) if connection.vendor == "sqlite" else set()

    assert trigger_names(connection) == {guard.name for guard in guards()} | search


def test_apply_triggers_may_be_repeated() -> None:
    before = catalogue()

    apply_triggers(connection)

    assert catalogue() == before


@pytest.mark.parametrize("guard", guards(), ids=lambda guard: guard.name)
@pytest.mark.parametrize("deed", [by_sql, by_rows], ids=["by_sql", "by_rows"])
def test_guard_refuses_its_event(guard: Guard, deed: Callable[[Guard, Any], None]) -> None:
    model = MODELS[guard.table]
    row = frozen(model)
    before = list(model._default_manager.values())

    refusal = sentence(lambda: deed(guard, row))

    assert refusal == guard.sentence
    assert list(model._default_manager.values()) == before


@pytest.mark.parametrize("guard", guards(), ids=lambda guard: guard.name)
def test_without_its_guard_the_event_happens(guard: Guard) -> None:
    """The refusal above is the guard's doing, and nothing else's."""
    model = MODELS[guard.table]
    row = frozen(model)
    before = list(model._default_manager.values())

    remove_triggers(connection)
    if guard.event == "INSERT":
        make(model, **whose_turn_is_over(row))
    else:
        by_sql(guard, row)

    assert list(model._default_manager.values()) != before


@pytest.mark.parametrize("model", CHILDREN, ids=lambda model: model.__name__)
def test_drafts_may_still_change(model: type[Model]) -> None:
    row = make(model)

    change(row, **dict([change_of(model)]))
    second = make(model, **parent_of(row))
    second.delete()
    row.delete()

    assert model._default_manager.count() == 0


@pytest.mark.parametrize("model", CHILDREN, ids=lambda model: model.__name__)
def test_row_cannot_be_moved_into_what_is_frozen(model: type[Model]) -> None:
    draft, kept = make(model), frozen(model)

    refusal = sentence(lambda: change(draft, **parent_of(kept)))

    assert refusal == next(g.sentence for g in guards() if g.table == model._meta.db_table)


@pytest.mark.parametrize("model", CHILDREN, ids=lambda model: model.__name__)
def test_row_cannot_be_moved_out_of_what_is_frozen(model: type[Model]) -> None:
    draft, kept = make(model), frozen(model)

    refusal = sentence(lambda: change(kept, **parent_of(draft)))

    assert refusal == next(g.sentence for g in guards() if g.table == model._meta.db_table)


def test_claims_of_a_draft_and_of_a_credited_invoice_may_go() -> None:
    drafted, credited = make(rows.BilledSource), frozen(rows.BilledSource)
    note = {"kind": "credit_note", "credits": credited.line.invoice, "credit_reason": "Wrong boat"}
    make(rows.Invoice, **ISSUED | note | {"number": "CN-00001"})

    drafted.delete()
    credited.delete()

    assert rows.BilledSource.objects.count() == 0


def test_draft_invoice_and_revision_may_go() -> None:
    invoice, revision = make(rows.Invoice), make(rows.QuoteRevision)

    invoice.delete()
    revision.delete()

    assert (rows.Invoice.objects.count(), rows.QuoteRevision.objects.count()) == (0, 0)


@pytest.mark.parametrize(
    "name",
    [
        "shown",
        "shown_sha256",
        "sent_at",
        "tax_date",
        "valid_until_date",
        "revision",
        "quote_id",
        "state",
        "discount_e4",
        "discount_reason",
    ],
)
def test_nothing_shown_of_a_sent_revision_changes(name: str) -> None:
    row = frozen(rows.QuoteRevision)
    values = {
        "shown": "other",
        "shown_sha256": "f" * 64,
        "sent_at": None,
        "tax_date": "2026-01-01",
        "valid_until_date": "2026-01-01",
        "revision": 9_999,
        "quote_id": make(rows.Quote).pk,
        "state": "draft",
        "discount_e4": 500,
        "discount_reason": "other",
    }

    refusal = sentence(lambda: change(row, **{name: values[name]}))

    assert refusal == "what a customer was shown never changes"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("decided", "draft"),
        ("decided", "sent"),
        ("decided", "replaced"),
        ("replaced", "draft"),
        ("replaced", "sent"),
        ("replaced", "decided"),
    ],
)
def test_closed_revision_is_never_opened_again(before: str, after: str) -> None:
    row = make(rows.QuoteRevision, **SENT | {"state": before})

    refusal = sentence(lambda: change(row, state=after))

    assert refusal == "what a customer was shown never changes"


def test_draft_that_was_thrown_away_stays_so() -> None:
    row = make(rows.QuoteRevision, state="discarded")
    of_row = [
        lambda: change(row, state="draft"),
        lambda: change(row, **SENT),
        lambda: rows.QuoteRevision.objects.filter(pk=row.pk).delete(),
        lambda: make(rows.QuoteChoice, revision=row),
    ]

    assert [sentence(deed) for deed in of_row] == [
        "what a customer was shown never changes",
        "what a customer was shown never changes",
        "what a customer was shown never goes",
        "a sent quote never changes",
    ]


@pytest.mark.parametrize("state", ["decided", "replaced"])
def test_sent_revision_moves_on(state: str) -> None:
    row = frozen(rows.QuoteRevision)

    change(row, state=state, version=2)

    assert rows.QuoteRevision.objects.get(pk=row.pk).state == state


@pytest.mark.parametrize(
    "name",
    [f.attname for f in rows.Activity._meta.concrete_fields if f.name not in ("id", "salt", "payload")],
)
def test_every_fact_of_activity_is_kept(name: str) -> None:
    row = make(rows.Activity)
    own = {"seq": 999_999, "happened_at": "2020-01-01T00:00:00Z", "work_order_id": make(rows.WorkOrder).pk}

    refusal = sentence(lambda: change(row, **{name: own.get(name, "forged")}))

    assert refusal == "activity is append-only"


@pytest.mark.parametrize(
    "changes",
    [
        {"payload": '{"amount": "1"}'},
        {"salt": "f" * 32},
        {"payload": None},
        {"salt": None},
        {"salt": None, "payload": '{"amount": "1"}'},
    ],
)
def test_activity_is_erased_whole_or_not(changes: dict[str, str | None]) -> None:
    row = make(rows.Activity)

    refusal = sentence(lambda: change(row, **changes))

    assert refusal == "activity is append-only"


def test_activity_may_be_erased_and_stays_so() -> None:
    row = make(rows.Activity)

    change(row, salt=None, payload=None)
    refusal = sentence(lambda: change(row, salt="f" * 32, payload="{}"))

    assert refusal == "activity is append-only"
    assert rows.Activity.objects.get().payload is None


def test_row_cannot_be_written_over_by_an_insert() -> None:
    row = frozen(rows.Payment)
    columns = [field.column for field in rows.Payment._meta.concrete_fields]
    listed = ", ".join(columns)
    picked = ", ".join("1" if column == "amount_minor" else column for column in columns)
    copy = f"({listed}) SELECT {picked} FROM shopapp_payment WHERE id = %s"
    statements = [f"INSERT INTO shopapp_payment {copy} ON CONFLICT (id) DO UPDATE SET amount_minor = 1"]
    if connection.vendor == "sqlite":
        statements.append(f"INSERT OR REPLACE INTO shopapp_payment {copy}")

    refusals = [sentence(lambda statement=statement: run(statement, row.pk)) for statement in statements]

    assert refusals == ["a payment never changes"] * len(statements)
    assert rows.Payment.objects.get().amount_minor == row.amount_minor


LATER = """from django.db import migrations, models

class Migration(migrations.Migration):
    dependencies = [("shopapp", "{last}")]
    operations = [
        migrations.AlterField("{model}", "{field}", models.{made_with}),
        migrations.AddField("{model}", "added_later", models.CharField(max_length=9, default="")),
    ]
"""
# tables that other tables' guards look into, and tables that only have guards of their own
REBUILT = [
    ("invoice", "shown_sha256", "CharField(max_length=80, blank=True)"),
    ("quoterevision", "shown_sha256", "CharField(max_length=80, blank=True)"),
    ("quoteoption", "title", "CharField(max_length=99)"),
    ("payment", "note", "CharField(max_length=300, blank=True)"),
    ("searchtext", "kind", "CharField(max_length=30)"),
    ("activity", "verb", "CharField(max_length=60)"),
]


@pytest.fixture
def later_migration(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: object, real_migrations: None
) -> Callable[..., str]:
    """Gives the app one more migration; returns the name of the last one before it."""

    def add(model: str, field: str, made_with: str) -> str:
        package = f"later_{model}"
        shutil.copytree(next(iter(migrations_path)), tmp_path / package)
        last = max(path.stem for path in (tmp_path / package).glob("0*.py"))
        text = LATER.format(last=last, model=model, field=field, made_with=made_with)
        (tmp_path / package / "9999_later.py").write_text(text)
        monkeypatch.syspath_prepend(tmp_path)
        settings.MIGRATION_MODULES = {"shopapp": package}
        return last

    return add


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("rebuilt", REBUILT, ids=lambda rebuilt: rebuilt[0])
def test_guards_outlive_the_rebuild_of_a_table(
    rebuilt: tuple[str, str, str], later_migration: Callable[..., str]
) -> None:
    payment, before = frozen(rows.Payment), catalogue()
    last = later_migration(*rebuilt)

    call_command("migrate", verbosity=0)
    after = catalogue()
    refusal = sentence(lambda: change(payment, amount_minor=1))
    call_command("migrate", "shopapp", last, verbosity=0)

    assert (after, catalogue()) == (before, before)
    assert refusal == "a payment never changes"
    assert rows.Payment.objects.get().amount_minor == payment.amount_minor


def test_missing_guard_is_warned_of_by_name() -> None:
    whole = guards_are_in_place(databases=["default"])
    guard = guards()[0]
    target = f"{guard.name} ON {guard.table}" if connection.vendor == "postgresql" else guard.name

    run(f"DROP TRIGGER {target}")

    warnings = guards_are_in_place(databases=["default"])
    assert whole == []
    assert [(one.id, one.msg) for one in warnings] == [
        ("shopapp.W001", f"The database lacks the guard {guard.name}."),
    ]
