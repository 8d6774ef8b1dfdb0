"""Ways out of a visit beside the paid one: called off, or let go by the owner's word."""

from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shopapp import access
from shopapp.actions import work_orders
from shopapp.models import WorkOrder
from shopapp.queries.ask_pages import Asking
from shopapp.queries.shop import the_shop
from shopapp.queries.shop_texts import texts_of
from shopapp.queries.ways_home import obstacle_to_cancelling, way_home
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_work_order
from shopapp.web.work_orders.asking import asked, sent
from shopapp.web.work_orders.forms_ask import CallingOffForm, ReleaseForm


@allowed(access.may_use_desk)
@require_http_methods(["GET", "HEAD", "POST"])
def calling_off(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    form = CallingOffForm(sent(request))
    obstacle = obstacle_to_cancelling(work_order)
    asking = Asking(
        title=_("Call the visit off"),
        button=_("Call it off"),
        sentences=(obstacle or _("Nothing came of this visit yet, so it can be called off."),),
    )
    return asked(
        request,
        work_order,
        asking,
        form=form,
        deed=lambda: work_orders.cancel_visit(pk, form.as_input(), by=by),
    )


@allowed(access.may_see_costs)
@require_http_methods(["GET", "HEAD", "POST"])
def release(request: StaffRequest, pk: int) -> HttpResponse:
    work_order, by = find_work_order(request, pk), actor_of(request)
    form = ReleaseForm(sent(request), initial={"gone_to": work_order.customer.name})
    return asked(
        request,
        work_order,
        _release(work_order),
        form=form,
        deed=lambda: work_orders.release_boat(pk, form.as_input(), by=by),
    )


def _release(work_order: WorkOrder) -> Asking:
    home = way_home(work_order)
    words = {"owed": texts_of(the_shop()).money(home.owed_now_minor), "who": ", ".join(home.owed_by)}
    owed = _("%(owed)s is still owed by %(who)s. That stays owed after the boat has gone.") % words
    return Asking(
        title=_("Let the boat go before it is paid"),
        button=_("Let it go"),
        sentences=(owed if home.owed_now_minor else _("Nothing is owed on this work order."),),
    )
