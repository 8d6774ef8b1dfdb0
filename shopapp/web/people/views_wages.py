"""The owner writes what an hour of somebody costs."""

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from shopapp import access
from shopapp.actions.wages import set_wage
from shopapp.context import locale_of
from shopapp.models import Person
from shopapp.queries.shop import local_day, the_shop
from shopapp.queries.wages import wages_page
from shopapp.web.people.forms_wages import WageForm
from shopapp.web.people.proofs import answered
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row


@require_http_methods(["GET", "HEAD", "POST"])
@allowed(access.may_see_costs)
def wages(request: StaffRequest, pk: int) -> HttpResponse:
    person, by = find_row(Person.objects, pk=pk), actor_of(request)
    today = local_day(the_shop(), timezone.now())
    data = request.POST if request.method == "POST" else None
    form = WageForm(data, initial={"from_date": today}, locale=locale_of(request))

    def effect() -> str:
        set_wage(person.pk, form.as_input(), by=by)
        return reverse("people:wages", args=[person.pk])

    location = attempt(form, lambda: once(request, effect, by=by)) if form.is_valid() else None
    if location is not None:
        messages.success(request, _("It is written down. Hours that were logged before keep their cost."))
        return HttpResponseRedirect(location)
    page = wages_page(person, day=today)
    return answered(request, "people/wages.html", {"page": page, "form": form}, form=form)
