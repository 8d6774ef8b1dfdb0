"""What of a visit goes beyond what its customer agreed to, and which rows of the actual book wait for that.

The figures are the desk's; a technician is told in words. Whoever bills asks ``held_back``.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from shopapp.calc.agreed import (
    BEYOND,
    HELD,
    Bargain,
    Standing,
    Weighed,
    allowed,
    beyond,
    weigh,
)
from shopapp.calc.money import Rounding
from shopapp.models import (
    Job,
    Shop,
    WorkOrder,
)
from shopapp.queries.actual_rows import RowKey
from shopapp.queries.agreed_rows import Agreed, agreed_of, pieces_of
from shopapp.queries.approvals import Options, approved_options, authorised
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import ShopTexts, texts_of
from shopapp.queries.visit_books import VisitBooks


@dataclass(frozen=True, kw_only=True)
class HeldRow:
    """A row that waits, with the coins it would add (nothing while it has no price) and why it waits."""

    key: RowKey
    job_pk: int
    standing: Standing
    coins: int
    why: str


@dataclass(frozen=True, kw_only=True)
class OverAgreed:
    """What was agreed, what the customer's rows come to, and what of them goes beyond it; without tax.

    ``worth_minor`` is what the customer would pay if everything were billed, without what the owner took
    on themselves to bill (``by_owner_minor``); ``over_minor`` is the part of it that nobody agreed to.
    """

    authorised_minor: int
    limit_minor: int
    worth_minor: int
    by_owner_minor: int
    over_minor: int
    held: tuple[HeldRow, ...]
    texts: ShopTexts

    @property
    def is_over(self) -> bool:
        """Whether something was done that nobody agreed to."""
        return any(row.standing in BEYOND for row in self.held)


@dataclass(frozen=True, kw_only=True)
class Beyond:
    """The same for the desk as text: what was agreed, what it has come to, what nobody agreed to."""

    is_over: bool
    authorised: str
    worth: str
    over: str
    by_owner: str


def over_agreed(
    work_order: WorkOrder, *, options: Options | None = None, books: VisitBooks | None = None
) -> OverAgreed:
    """Weigh all that the customer of a visit would pay against what they agreed to; five queries.

    ``options`` are those in force for its jobs, where somebody has read them already (one query less); with
    the ``books`` of the visit one query is left. Struck rows count nowhere, rows that the shop or the
    maker pays are not the customer's.
    """
    shop, may = (books.shop, books.may) if books is not None else (the_shop(), authorised(work_order))
    known, lines = (books.options, books.lines) if books is not None else (options, None)
    agreed = agreed_of(options_of(work_order) if known is None else known, shop=shop, lines=lines)
    limit = allowed(may.total_minor, over_e4=shop.over_agreed_e4)
    weighed = _weighed(work_order, agreed=agreed, limit=limit, shop=shop)
    fixed = sum(deal.agreed for deal in agreed.deals.values() if deal.bargain == Bargain.FIXED)
    theirs = [one for one in weighed if one.standing in BEYOND | {Standing.COUNTS}]
    return OverAgreed(
        authorised_minor=may.total_minor,
        limit_minor=limit,
        worth_minor=fixed + sum(one.coins for one in theirs),
        by_owner_minor=sum(one.coins for one in weighed if one.standing == Standing.BY_OWNER),
        over_minor=beyond(weighed),
        held=tuple(_held(one) for one in weighed if one.standing in HELD),
        texts=texts_of(shop),
    )


def options_of(work_order: WorkOrder) -> Options:
    """Job id → the options in force, for every job of a visit that has any. One query."""
    return approved_options(Job.objects.filter(work_order=work_order))


def beyond_of(over: OverAgreed) -> Beyond:
    """The figures as the shop writes them. No query."""
    texts = over.texts
    return Beyond(
        is_over=over.is_over,
        authorised=texts.money(over.authorised_minor),
        worth=texts.money(over.worth_minor),
        over=texts.money(over.over_minor),
        by_owner=texts.money(over.by_owner_minor) if over.by_owner_minor else "",
    )


def held_back(work_order: WorkOrder, *, books: VisitBooks | None = None) -> frozenset[RowKey]:
    """The rows that may not be billed now, as (name of the claim's column, id): ("part_used", 7)."""
    return frozenset(row.key for row in over_agreed(work_order, books=books).held)


def worth_of_jobs(work_order: WorkOrder) -> Mapping[int, int]:
    """Job id → what the customer's rows on it come to so far, without tax, agreed or not; four queries.

    Rows of a fixed price that are in the price come to nothing; so does what the owner bills on their word.
    """
    shop = the_shop()
    agreed = agreed_of(options_of(work_order), shop=shop)
    found: defaultdict[int, int] = defaultdict(int)
    for one in _weighed(work_order, agreed=agreed, limit=0, shop=shop):
        if one.standing in BEYOND | {Standing.COUNTS}:
            found[one.piece.job] += one.coins
    return found


def _weighed(work_order: WorkOrder, *, agreed: Agreed, limit: int, shop: Shop) -> Sequence[Weighed]:
    pieces = pieces_of(work_order, agreed=agreed, shop=shop)
    return weigh(pieces, deals=agreed.deals, limit=limit, rounding=Rounding(shop.rounding))


def why_held(standing: Standing) -> str:
    """Why a row waits, in words for the desk."""
    words = {
        Standing.BEFORE_THE_PRICE: _("done before the price was agreed, and in it"),
        Standing.EXTRA: _("not on the plan of a fixed price"),
        Standing.NO_ROOM: _("goes beyond what the customer agreed"),
        Standing.NOT_PRICED: _("not priced yet"),
    }
    return words.get(standing, "")


def _held(one: Weighed) -> HeldRow:
    return HeldRow(
        key=one.piece.key,
        job_pk=one.piece.job,
        standing=one.standing,
        coins=one.coins,
        why=why_held(one.standing),
    )
