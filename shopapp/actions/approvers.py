"""Who may say yes for the owner of a boat, and up to how much."""

from collections.abc import Collection

from django.utils.translation import gettext as _

from shopapp.actions.refusals import Refused
from shopapp.calc.money import format_money, from_minor
from shopapp.models import Approval, PartInVisit, VisitPerson, WorkOrder
from shopapp.queries.approvals import in_force, jobs_answered_anew
from shopapp.queries.shop import the_shop


def require_within_limit(answer: Approval, *, work_order: WorkOrder) -> None:
    """Refuse an answer by which a named approver would agree to more than they were trusted with.

    The limit is without tax and for the whole visit: what the same person agreed to before counts with it,
    so that no big sum goes through in small ones. An approver who is the customer has no limit. Nothing is
    locked: the caller holds the work order. Four queries at most. Raises Refused.
    """
    approver = VisitPerson.objects.filter(
        work_order=work_order, part=PartInVisit.APPROVER, up_to_minor__isnull=False
    ).first()
    if approver is None or not _is_same(approver.name, answer.signed_name):
        return
    limit = approver.up_to_minor or 0
    if _is_same(work_order.customer.name, answer.signed_name):
        return
    before = _agreed_by(approver, work_order=work_order, answered_anew=jobs_answered_anew(answer.revision))
    if answer.without_tax_minor + before > limit:
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


def _agreed_by(approver: VisitPerson, *, work_order: WorkOrder, answered_anew: Collection[int]) -> int:
    found = in_force(work_order, answered_anew=answered_anew)
    return sum(one.without_tax_minor for one in found if _is_same(one.signed_name, approver.name))


def _is_same(one: str, other: str) -> bool:
    """The same name, however it was typed."""
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()
