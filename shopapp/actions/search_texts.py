"""Keeps the search words of a record, in the transaction that changed it."""

from itertools import batched

from django.db import models, transaction

from shopapp.models import Customer, Engine, Invoice, Part, Payment, Quote, SearchText, Vessel, WorkOrder
from shopapp.queries.find import number_words, search_words

_BATCH = 500
SEARCHED: tuple[type[models.Model], ...] = (
    Customer,
    Vessel,
    Engine,
    WorkOrder,
    Quote,
    Invoice,
    Payment,
    Part,
)


def index(*rows: models.Model) -> None:
    """Write the words of these rows, replacing what was there."""
    SearchText.objects.bulk_create(
        [SearchText(kind=_kind(row), record_id=row.pk, words=_words(row)) for row in rows],
        update_conflicts=True,
        unique_fields=["kind", "record_id"],
        update_fields=["words"],
    )


@transaction.atomic
def rebuild() -> int:
    """Write the words of every record anew, in one transaction; returns how many.

    Nothing is locked: a record that somebody changes meanwhile writes its own words after its change.
    """
    SearchText.objects.all().delete()
    count = 0
    for model in SEARCHED:
        # in the order in which they came, since the newest answer is shown first
        for batch in batched(model._default_manager.order_by("pk").iterator(chunk_size=_BATCH), _BATCH):
            index(*batch)
            count += len(batch)
    return count


def _kind(row: models.Model) -> str:
    return str(row._meta.model_name)


def _words(row: models.Model) -> str:
    """A person or a thing is found by what it is called; a document by its number."""
    if isinstance(row, WorkOrder | Quote | Invoice | Payment):
        number = row.number or ""
        return " ".join(filter(None, [search_words(number), number_words(number)]))
    return search_words(*_parts(row))


def _parts(row: models.Model) -> list[str]:
    match row:
        case Customer():
            return [row.name, row.phone, row.email]
        case Vessel():
            return [row.name, row.make, row.model, row.hull_number, row.registration]
        case Engine():
            return [row.make, row.model, row.serial]
        case Part():
            return [row.number, row.description]
    raise TypeError(f"{row!r} is not searched for")
