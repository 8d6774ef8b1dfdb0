"""What the database itself refuses: issued rows that change, activity rewritten; and the search index.

Taken off before each migration and put back after it, on SQLite and PostgreSQL alike; see ``apply_triggers``.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.backends.base.base import BaseDatabaseWrapper


@dataclass(frozen=True, kw_only=True)
class Guard:
    """Refuses an event on a table while a condition on OLD or NEW holds."""

    name: str
    table: str
    event: str
    when: str
    sentence: str


def _same(*columns: str) -> str:
    """True when one of the columns changes (NULL-safe on both databases)."""
    return " OR ".join(f"OLD.{c} IS DISTINCT FROM NEW.{c}" for c in columns)


_ISSUED_PARENT = (
    "EXISTS (SELECT 1 FROM shopapp_invoice i WHERE i.id = {row}.invoice_id AND i.issued_at IS NOT NULL)"
)
_BILLED_FOR_GOOD = (
    "EXISTS (SELECT 1 FROM shopapp_invoiceline l JOIN shopapp_invoice i ON i.id = l.invoice_id"
    " WHERE l.id = {row}.line_id AND i.issued_at IS NOT NULL"
    " AND NOT EXISTS (SELECT 1 FROM shopapp_invoice c WHERE c.credits_id = i.id AND c.issued_at IS NOT NULL))"
)
_SENT_REVISION = (
    "EXISTS (SELECT 1 FROM shopapp_quoterevision r WHERE r.id = {row}.revision_id AND r.state <> 'draft')"
)
_SENT_CHOICE = (
    "EXISTS (SELECT 1 FROM shopapp_quotechoice c JOIN shopapp_quoterevision r ON r.id = c.revision_id"
    " WHERE c.id = {row}.choice_id AND r.state <> 'draft')"
)
_SENT_OPTION = (
    "EXISTS (SELECT 1 FROM shopapp_quoteoption o JOIN shopapp_quotechoice c ON c.id = o.choice_id"
    " JOIN shopapp_quoterevision r ON r.id = c.revision_id"
    " WHERE o.id = {row}.option_id AND r.state <> 'draft')"
)
_OPEN_REVISION = "EXISTS (SELECT 1 FROM shopapp_quoterevision r WHERE r.id = {row} AND r.state = 'sent')"
_ANSWERED_REVISION = "(SELECT a.revision_id FROM shopapp_approval a WHERE a.id = NEW.approval_id)"
_ERASED_CUSTOMER = (
    "EXISTS (SELECT 1 FROM shopapp_workorder w JOIN shopapp_customer c ON c.id = w.customer_id"
    " WHERE w.id = {visit} AND c.erased_at IS NOT NULL)"
)
_NO_BILL = (
    "NOT EXISTS (SELECT 1 FROM shopapp_invoice i WHERE i.work_order_id = {visit} AND i.issued_at IS NOT NULL)"
)
# stands in a column that may not be empty, once what it held was erased
ERASED_MARK = "–"
_VISIT_OF_APPROVAL = (
    "(SELECT q.work_order_id FROM shopapp_quoterevision r JOIN shopapp_quote q ON q.id = r.quote_id"
    " WHERE r.id = OLD.revision_id)"
)
_VISIT_OF_REVISION = "(SELECT q.work_order_id FROM shopapp_quote q WHERE q.id = OLD.quote_id)"
FROM_WHERE = ("address", "device")
APPROVAL_TEXTS = ("signed_name", "strokes", "reason", "called_number", "extra_work", "relation")
APPROVAL_FACTS = (
    *("id", "revision_id", "decision", "without_tax_minor", "with_tax_minor", "decided_at", "witness_id"),
    *("signed_sha256", "how", "extra_minor", "new_total_minor", "recorded_by_id", "recorded_at"),
    "wants_parts_back",
)
INTAKE_FACTS = (
    *("id", "work_order_id", "diagnosis_fee_minor", "spending_limit_minor", "limit_comes_on_top", "may_run"),
    *("may_move", "may_launch", "wants_parts_back", "created_at", "signed_at", "signed_how", "witness_id"),
    *("shown_sha256", "signed_sha256", "version"),
)
CUSTODY_FACTS = ("id", "work_order_id", "thing", "move", "happened_at", "recorded_at", "recorded_by_id")
_ACTIVITY_FACTS = (
    *("id", "seq", "happened_at", "actor", "actor_name", "scope", "verb", "record", "work_order_id"),
    *("payload_sha256", "chain_hash"),
)


def _but_erasing(visit: str, *, facts: Sequence[str], always: Sequence[str], unbilled: Sequence[str]) -> str:
    """Forbids every change but one: texts are blanked once the customer of the visit says they are erased.

    ``facts`` never change; ``always`` may be blanked; ``unbilled`` only where no bill rests on the visit.
    """
    blank = [
        f"(OLD.{name} IS DISTINCT FROM NEW.{name} AND {_is_filled(name)})" for name in (*always, *unbilled)
    ]
    early = f"(({_same(*unbilled)}) AND NOT {_NO_BILL.format(visit=visit)})" if unbilled else "1=0"
    erased = _ERASED_CUSTOMER.format(visit=visit)
    return f"({_same(*facts)} OR {' OR '.join(blank)} OR {early} OR NOT {erased})"


def _is_filled(name: str) -> str:
    # an address of the internet is a type of its own on PostgreSQL, which knows no empty one
    if name == "address":
        return f"NEW.{name} IS NOT NULL"
    return f"NEW.{name} NOT IN ('', '{ERASED_MARK}')"


def _children(table: str, parent: str, sentence: str) -> Iterator[Guard]:
    """A frozen parent's rows can't be added, changed or removed."""
    short = table.removeprefix("shopapp_")
    old, new = parent.format(row="OLD"), parent.format(row="NEW")
    # an update counts on both sides: a row may not be moved from a draft into what is frozen
    for event, when in (("INSERT", new), ("UPDATE", f"({old} OR {new})"), ("DELETE", old)):
        yield Guard(
            name=f"{short}_no_{event.lower()}_once_frozen",
            table=table,
            event=event,
            when=when,
            sentence=sentence,
        )


def _never(table: str, sentence: str) -> Iterator[Guard]:
    """Rows that are written once."""
    short = table.removeprefix("shopapp_")
    for event in ("UPDATE", "DELETE"):
        yield Guard(
            name=f"{short}_no_{event.lower()}", table=table, event=event, when="1=1", sentence=sentence
        )


def _no_delete(table: str, sentence: str) -> Iterator[Guard]:
    """Rows that stay, though a text of theirs may have to be erased."""
    name = f"{table.removeprefix('shopapp_')}_no_delete"
    yield Guard(name=name, table=table, event="DELETE", when="1=1", sentence=sentence)


def guards() -> tuple[Guard, ...]:
    """Every guard, in a stable order."""
    return (
        *_invoice_guards(),
        *_quote_guards(),
        Guard(
            name="approval_no_update",
            table="shopapp_approval",
            event="UPDATE",
            when=_but_erasing(
                _VISIT_OF_APPROVAL,
                facts=APPROVAL_FACTS,
                always=FROM_WHERE,
                unbilled=APPROVAL_TEXTS,
            ),
            sentence="an answer never changes",
        ),
        *_no_delete("shopapp_approval", "an answer never goes"),
        *_never("shopapp_approvedchoice", "an answer never changes"),
        Guard(
            name="approval_no_insert_unless_sent",
            table="shopapp_approval",
            event="INSERT",
            when=f"NOT {_OPEN_REVISION.format(row='NEW.revision_id')}",
            sentence="only a sent quote is answered",
        ),
        Guard(
            name="approvedchoice_no_insert_once_decided",
            table="shopapp_approvedchoice",
            event="INSERT",
            when=f"NOT {_OPEN_REVISION.format(row=_ANSWERED_REVISION)}",
            sentence="an answer never grows",
        ),
        *_visit_guards(),
        *_activity_guards(),
    )


def _invoice_guards() -> tuple[Guard, ...]:
    """An issued invoice and money received stay as they are."""
    return (
        Guard(
            name="invoice_no_update_once_issued",
            table="shopapp_invoice",
            event="UPDATE",
            when="OLD.issued_at IS NOT NULL",
            sentence="an issued invoice never changes",
        ),
        Guard(
            name="invoice_no_delete_once_issued",
            table="shopapp_invoice",
            event="DELETE",
            when="OLD.issued_at IS NOT NULL",
            sentence="an issued invoice never goes",
        ),
        *_children("shopapp_invoiceline", _ISSUED_PARENT, "lines of an issued invoice never change"),
        *_children("shopapp_invoicetax", _ISSUED_PARENT, "tax of an issued invoice never changes"),
        *_never("shopapp_payment", "a payment never changes"),
        *_never("shopapp_allocation", "an allocation never changes"),
        *_never("shopapp_refund", "a refund never changes"),
        Guard(
            name="billedsource_no_delete_once_frozen",
            table="shopapp_billedsource",
            event="DELETE",
            when=f"{_BILLED_FOR_GOOD.format(row='OLD')}",
            sentence="what an invoice bills is free again only when it is credited",
        ),
        Guard(
            name="billedsource_no_update",
            table="shopapp_billedsource",
            event="UPDATE",
            when="1=1",
            sentence="what a line bills never changes",
        ),
    )


def _visit_guards() -> tuple[Guard, ...]:
    """A signed intake and what went in and out stay as they are."""
    return (
        Guard(
            name="intake_no_update_once_signed",
            table="shopapp_intake",
            event="UPDATE",
            when="OLD.signed_at IS NOT NULL AND "
            + _but_erasing(
                "OLD.work_order_id",
                facts=INTAKE_FACTS,
                always=FROM_WHERE,
                unbilled=("signed_name", "strokes", "shown"),
            ),
            sentence="a signed intake never changes",
        ),
        Guard(
            name="intake_no_delete_once_signed",
            table="shopapp_intake",
            event="DELETE",
            when="OLD.signed_at IS NOT NULL",
            sentence="a signed intake never goes",
        ),
        Guard(
            name="custodyentry_no_update",
            table="shopapp_custodyentry",
            event="UPDATE",
            when=_but_erasing(
                "OLD.work_order_id", facts=CUSTODY_FACTS, always=("who", "place", "note"), unbilled=()
            ),
            sentence="custody is only added to",
        ),
        *_no_delete("shopapp_custodyentry", "custody is only added to"),
    )


def _quote_guards() -> tuple[Guard, ...]:
    """What a customer was shown stays as it was."""
    return (
        Guard(
            name="quoterevision_no_change_of_what_was_shown",
            table="shopapp_quoterevision",
            event="UPDATE",
            when="OLD.state <> 'draft' AND ("
            + _same(
                "shown_sha256",
                "sent_at",
                "tax_date",
                "valid_until_date",
                "revision",
                "quote_id",
                "discount_e4",
                "discount_reason",
            )
            + " OR (OLD.shown IS DISTINCT FROM NEW.shown AND (NEW.shown <> '' OR NOT "
            + _NO_BILL.format(visit=_VISIT_OF_REVISION)
            + f" OR NOT {_ERASED_CUSTOMER.format(visit=_VISIT_OF_REVISION)}))"
            + " OR NEW.state = 'draft' OR (OLD.state <> 'sent' AND OLD.state <> NEW.state))",
            sentence="what a customer was shown never changes",
        ),
        Guard(
            name="quoterevision_no_delete_once_sent",
            table="shopapp_quoterevision",
            event="DELETE",
            when="OLD.state <> 'draft'",
            sentence="what a customer was shown never goes",
        ),
        *_children("shopapp_quotechoice", _SENT_REVISION, "a sent quote never changes"),
        *_children("shopapp_quoteoption", _SENT_CHOICE, "a sent quote never changes"),
        *_children("shopapp_quoteline", _SENT_OPTION, "a sent quote never changes"),
    )


def _activity_guards() -> tuple[Guard, ...]:
    """Activity is only added to; payload and salt may be erased together."""
    return (
        Guard(
            name="activity_no_update_but_erasure",
            table="shopapp_activity",
            event="UPDATE",
            when=_same(*_ACTIVITY_FACTS)
            + " OR (NEW.payload IS NOT NULL AND OLD.payload IS DISTINCT FROM NEW.payload)"
            + " OR (NEW.salt IS NOT NULL AND OLD.salt IS DISTINCT FROM NEW.salt)"
            + " OR (NEW.payload IS NULL) <> (NEW.salt IS NULL)",
            sentence="activity is append-only",
        ),
        *_no_delete("shopapp_activity", "activity is append-only"),
    )


_SQLITE_SEARCH = (
    "CREATE VIRTUAL TABLE IF NOT EXISTS shopapp_search USING fts5(words, content='shopapp_searchtext',"
    " content_rowid='id', tokenize='trigram')",
    "CREATE TRIGGER shopapp_search_added AFTER INSERT ON shopapp_searchtext BEGIN"
    " INSERT INTO shopapp_search(rowid, words) VALUES (NEW.id, NEW.words); END",
    "CREATE TRIGGER shopapp_search_removed AFTER DELETE ON shopapp_searchtext BEGIN"
    " INSERT INTO shopapp_search(shopapp_search, rowid, words) VALUES ('delete', OLD.id, OLD.words); END",
    "CREATE TRIGGER shopapp_search_changed AFTER UPDATE ON shopapp_searchtext BEGIN"
    " INSERT INTO shopapp_search(shopapp_search, rowid, words) VALUES ('delete', OLD.id, OLD.words);"
    " INSERT INTO shopapp_search(rowid, words) VALUES (NEW.id, NEW.words); END",
)
_SQLITE_REFILL = "INSERT INTO shopapp_search(shopapp_search) VALUES ('rebuild')"
SEARCH_TRIGGERS = ("shopapp_search_added", "shopapp_search_removed", "shopapp_search_changed")


def _sqlite_guard(guard: Guard) -> str:
    return (
        f"CREATE TRIGGER {guard.name} BEFORE {guard.event} ON {guard.table} WHEN {guard.when}"
        f" BEGIN SELECT RAISE(ABORT, '{guard.sentence}'); END"
    )


def _postgres_guard(guard: Guard) -> Iterator[str]:
    # a trigger's WHEN may not hold a subquery on PostgreSQL, so the test lives in the function
    result = "OLD" if guard.event == "DELETE" else "NEW"
    yield (
        f"CREATE OR REPLACE FUNCTION {guard.name}_guard() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
        f" IF {guard.when} THEN RAISE EXCEPTION '{guard.sentence}' USING ERRCODE = 'check_violation'; END IF;"
        f" RETURN {result}; END $$"
    )
    yield (
        f"CREATE TRIGGER {guard.name} BEFORE {guard.event} ON {guard.table}"
        f" FOR EACH ROW EXECUTE FUNCTION {guard.name}_guard()"
    )


def remove_triggers(connection: BaseDatabaseWrapper) -> None:
    """Drop every trigger of this module (before they are made anew, or before a test empties its tables)."""
    # one transaction: a hundred statements by themselves would wait for the disk a hundred times
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        for guard in guards():
            target = f"{guard.name} ON {guard.table}" if connection.vendor == "postgresql" else guard.name
            cursor.execute(f"DROP TRIGGER IF EXISTS {target}")
        if connection.vendor == "sqlite":
            for name in SEARCH_TRIGGERS:
                cursor.execute(f"DROP TRIGGER IF EXISTS {name}")


def apply_triggers(connection: BaseDatabaseWrapper) -> None:
    """Make every trigger anew and fill the search index from its table. Safe to repeat.

    SQLite drops a table's triggers when Django rebuilds the table, and refuses the rebuild while other
    triggers look into the table: so all are off during a migration and put back after it.
    """
    remove_triggers(connection)
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        # after a migration backwards some tables are not there
        tables = set(connection.introspection.table_names(cursor))
        present = [guard for guard in guards() if guard.table in tables]
        if connection.vendor == "sqlite":
            for guard in present:
                cursor.execute(_sqlite_guard(guard))
            for statement in _SQLITE_SEARCH:
                cursor.execute(statement)
            cursor.execute(_SQLITE_REFILL)
            return
        for guard in present:
            for statement in _postgres_guard(guard):
                cursor.execute(statement)
        cursor.execute("CREATE EXTENSION IF NOT EXISTS pg_trgm")
        cursor.execute(
            "CREATE INDEX IF NOT EXISTS searchtext_trigrams ON shopapp_searchtext"
            # words are found at once, not after a later clean-up of the index; writers are few
            " USING gin (words gin_trgm_ops) WITH (fastupdate = off)"
        )


def refill_search_index(connection: BaseDatabaseWrapper) -> None:
    """Make the index over the search words anew from their table, whatever state it is in."""
    with connection.cursor() as cursor:
        cursor.execute(
            _SQLITE_REFILL if connection.vendor == "sqlite" else "REINDEX INDEX searchtext_trigrams"
        )


def trigger_names(connection: BaseDatabaseWrapper) -> set[str]:
    """Names of the triggers the database says it has on the shop's tables."""
    query = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        return {row[0] for row in cursor.fetchall()}
