"""The terms of a visit, for the form that changes them."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from shopapp.calc.money import from_minor
from shopapp.models import Intake, WorkOrder
from shopapp.queries.intakes import intake_of, usual_terms
from shopapp.queries.shop import the_shop
from shopapp.queries.versions import Conflict
from shopapp.queries.vessels import boat_words

TICKS = ("limit_comes_on_top", "may_run", "may_move", "may_launch", "wants_parts_back")


@dataclass(frozen=True, kw_only=True)
class TermsPage:
    """What the form begins with; ``version`` 0: new terms, beside signed ones or where there were none."""

    pk: int
    number: str
    boat: str
    customer: str
    is_signed_already: bool
    version: int
    values: Mapping[str, Any]
    intake_text: str
    storage_terms: str
    teardown_terms: str
    conflict: Conflict | None = None


def terms_page(work_order: WorkOrder) -> TermsPage:
    """The page about a visit that was fetched with its ``vessel`` and ``customer``. Two queries."""
    shop, intake = the_shop(), intake_of(work_order)
    is_signed = intake is not None and intake.signed_at is not None
    values = asdict(usual_terms(shop)) if intake is None else intake_values(intake, currency=shop.currency)
    return TermsPage(
        pk=work_order.pk,
        number=work_order.number,
        boat=boat_words(work_order.vessel),
        customer=work_order.customer.name,
        is_signed_already=is_signed,
        version=0 if intake is None or is_signed else intake.version,
        values=values,
        intake_text=shop.intake_text,
        storage_terms=shop.storage_terms,
        teardown_terms=shop.teardown_terms,
    )


def intake_values(intake: Intake, *, currency: str) -> Mapping[str, Any]:
    """The terms of a row by the names of the form's fields. No query."""
    ticks = {name: getattr(intake, name) for name in TICKS}
    return {
        "diagnosis_fee": from_minor(intake.diagnosis_fee_minor, currency=currency),
        "spending_limit": from_minor(intake.spending_limit_minor, currency=currency),
    } | ticks
