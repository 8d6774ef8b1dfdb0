"""Who may say yes for the owner of a boat, and up to how much."""

from django.db.models import Sum
from django.utils.translation import gettext as _

from shopapp.actions.refusals import Refused
from shopapp.calc.money import format_money, from_minor
from shopapp.models import Approval, PartInVisit, VisitPerson, WorkOrder
from shopapp.queries.approvals import approved_quotes
from shopapp.queries.shop import the_shop


def require_within_limit(answer: Approval, *, work_order: WorkOrder) -> None:
    """Refuse an answer by which a named approver would agree to more than they were trusted with.

    The limit is without tax and for the whole visit: what the same person agreed to before counts with it,
    so that no big sum goes through in small ones. An approver who is the customer has no limit. Nothing is
    locked: the caller holds the work order. Two queries at most. Raises Refused.
    """
    approver = VisitPerson.objects.filter(
        work_order=work_order, part=PartInVisit.APPROVER, up_to_minor__isnull=False
    ).first()
    if approver is None or not _is_same(approver.name, answer.signed_name):
        return
    limit = approver.up_to_minor or 0
    if _is_same(work_order.customer.name, answer.signed_name):
        return
    if answer.without_tax_minor + _agreed_by(approver, work_order=work_order) > limit:
        shop = the_shop()
        amount = format_money(
            from_minor(limit, currency=shop.currency), currency=shop.currency, locale=shop.locale
        )
        sentence = _(
            "%(approver)s may agree to %(amount)s without tax on this visit, and this goes beyond it. "
            "Please let %(customer)s answer."
        )
        names = {"approver": approver.name, "amount": amount, "customer": work_order.customer.name}
        raise Refused(sentence % names)


def _agreed_by(approver: VisitPerson, *, work_order: WorkOrder) -> int:
    rows = approved_quotes(work_order).order_by().values("signed_name").annotate(sum=Sum("without_tax_minor"))
    return sum(row["sum"] for row in rows if _is_same(row["signed_name"], approver.name))


def _is_same(one: str, other: str) -> bool:
    """The same name, however it was typed."""
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()
