"""On what terms a draft offers its work: how jobs are billed, discount on the whole, the minimum charge."""

from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.db.models import F, Max
from django.utils.translation import gettext as _

from shopapp.actions import versions
from shopapp.actions.actor import Actor
from shopapp.actions.locks import locked
from shopapp.actions.quote_drafts import lock_draft, record_change, revision_of, still_there
from shopapp.actions.refusals import Refused
from shopapp.calc.errors import BadInput
from shopapp.calc.money import from_minor, to_e4
from shopapp.calc.totals import line_amount
from shopapp.models import (
    Job,
    LineKind,
    Payer,
    PriceKind,
    QuoteChoice,
    QuoteLine,
    QuoteOption,
    QuoteRevision,
    Shop,
    Unit,
)
from shopapp.queries.job_rules import is_price_kind_locked
from shopapp.queries.shop import local_day, rules_of, tax_code_of_kind, the_shop, treatments_at
from shopapp.queries.shop_texts import texts_of

LONGEST_REASON = 200


@dataclass(frozen=True, kw_only=True)
class DiscountInput:
    """A share (0 to below 1) off the whole of what the customer chooses, and the reason that they read."""

    share: Decimal
    reason: str = ""


@transaction.atomic
def set_price_kind(choice_pk: int, kind: PriceKind, *, by: Actor) -> QuoteRevision:
    """Say how the job of a question in a draft is billed; returns the revision.

    Refused while the customer has the price kind in words: on a quote that is out, or one they said yes to.
    Locks the work order, the revision, the job, last the chain head; a second sender writes the same once
    more. If the power fails, the kind and its record are there or neither.
    """
    revision = lock_draft(revision_of(QuoteChoice, choice_pk), by=by)
    choice = still_there(QuoteChoice.objects.filter(pk=choice_pk).first())
    job = locked(Job.objects.filter(pk=choice.job_id)).get()
    if kind not in PriceKind.values:
        raise BadInput("price_kind", kind, ", ".join(PriceKind.values))
    if kind != job.price_kind and is_price_kind_locked(job):
        raise Refused(_("The customer has read how this job is billed, so it stays as it is."))
    Job.objects.filter(pk=job.pk).update(price_kind=kind, version=F("version") + 1)
    facts: dict[str, str | int] = {"job": job.position, "kind": str(kind)}
    record_change("price kind of quote", revision, revision=revision, by=by, facts=facts)
    return revision


@transaction.atomic
def set_discount(revision_pk: int, data: DiscountInput, *, version: int, by: Actor) -> QuoteRevision:
    """Take a share off the whole of a draft, if nobody else changed its terms since ``version``.

    Locks the work order, the revision, last the chain head. A second sender with the same version gets
    Stale and writes nothing. If the power fails, all of it is there or nothing. A share of nil takes the
    discount away. Raises BadInput.
    """
    draft = lock_draft(revision_pk, by=by)
    reason = data.reason.strip()
    # all of it is no discount but a gift, and taxes rounded line by line could leave a coin below nil
    if not 0 <= data.share < 1:
        raise BadInput("share", data.share, _("less than the whole: what is given away, the shop pays"))
    if data.share and not 0 < len(reason) <= LONGEST_REASON:
        raise BadInput("reason", reason[:40], _("why, in at most 200 letters: the customer reads it"))
    changes = {
        "discount_e4": to_e4(data.share, field="share"),
        "discount_reason": reason if data.share else "",
    }
    saved = versions.save_edit(draft, version=version, changes=changes)
    facts: dict[str, str | int] = {"share_e4": saved.discount_e4, "reason": saved.discount_reason}
    record_change("discount of quote", saved, revision=draft, by=by, facts=facts)
    return saved


@transaction.atomic
def add_minimum_charge(option_pk: int, *, by: Actor) -> QuoteOption:
    """A fee line that brings the customer's lines of an option up to the shop's minimum; returns the option.

    From then on it follows the other lines, before any discount on the whole. Locks the work order, the
    revision, last the chain head; a second sender is refused: it is there. If the power fails, the line and
    its record are there or neither. Refused where there is no minimum or the lines come to it already.
    """
    revision = lock_draft(revision_of(QuoteOption, option_pk), by=by)
    option = still_there(QuoteOption.objects.filter(pk=option_pk).first())
    shop = the_shop()
    if option.lines.filter(is_minimum_charge=True).exists():
        raise Refused(_("The minimum charge stands in this option already."))
    missing = _missing(option, shop=shop, by=by)
    if missing <= 0:
        minimum = texts_of(shop).money(shop.minimum_charge_minor)
        raise Refused(_("These lines come to the minimum charge of %s already.") % minimum)
    last = option.lines.aggregate(last=Max("position"))["last"] or 0
    line = QuoteLine.objects.create(
        option=option,
        position=last + 1,
        kind=LineKind.FEE,
        description=_("Minimum charge"),
        quantity_milli=1_000,
        unit=Unit.EACH,
        unit_price_e4=to_e4(missing, field="unit_price"),
        tax_code_id=tax_code_of_kind(LineKind.FEE),
        is_minimum_charge=True,
    )
    record_change("minimum charge", line, revision=revision, by=by, facts={"option": option.title})
    return option


def follow_minimum_charge(option: QuoteOption, *, by: Actor) -> None:
    """Let the minimum charge of an option (of a locked draft) follow its other lines; it may go."""
    line = option.lines.filter(is_minimum_charge=True).first()
    if line is None:
        return
    missing = _missing(option, shop=the_shop(), by=by)
    if missing <= 0:
        line.delete()
        return
    price = to_e4(missing, field="unit_price")
    QuoteLine.objects.filter(pk=line.pk).exclude(unit_price_e4=price).update(
        unit_price_e4=price, version=F("version") + 1
    )


def _missing(option: QuoteOption, *, shop: Shop, by: Actor) -> Decimal:
    """What the customer's other lines lack to the minimum, as prices are entered; nil or less: nothing."""
    treatments, rules = treatments_at(local_day(shop, by.at)), rules_of(shop)
    rows = option.lines.filter(payer=Payer.CUSTOMER, is_minimum_charge=False)
    amounts = (line_amount(row.as_line(treatments), rules=rules) for row in rows)
    return from_minor(shop.minimum_charge_minor, currency=shop.currency) - sum(amounts, Decimal(0))
