"""The owner enrols tablets and ends them; everybody sets a PIN of their own."""

from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shopapp import access
from shopapp.actions.actor import Actor
from shopapp.actions.devices import end_device, enrol_device
from shopapp.actions.pins import set_pin
from shopapp.actions.sign_ins import MOST_OF_A_NAME, WITHIN, Knock, forgive, knocked, note_miss
from shopapp.actions.tries import Limit
from shopapp.models import Device
from shopapp.queries.devices import devices_page, own_pin_page
from shopapp.web.devices.forms import EnrolForm, OwnPinForm, WithPassword
from shopapp.web.shared.once import once
from shopapp.web.shared.refusals import attempt
from shopapp.web.shared.signed_in import StaffRequest, actor_of, allowed, find_row
from shopapp.web.shared.tablets import keep_tablet, tablet_here


@allowed(access.may_manage_tablets)
@require_safe
def index(request: StaffRequest) -> HttpResponse:
    return render(request, "devices/index.html", {"page": devices_page(this_one=tablet_here(request))})


@sensitive_post_parameters("password")
@allowed(access.may_manage_tablets)
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: StaffRequest) -> HttpResponse:
    here = tablet_here(request)
    form, by = EnrolForm(request.POST if request.method == "POST" else None), actor_of(request)
    # not by way of a request key: its stored outcome would hold the token, of which only a hash may be kept
    enrolled = attempt(form, lambda: _enrolled(form, here, by=by)) if _is_proven(request, form) else None
    if enrolled is None:
        context = {"page": devices_page(this_one=here), "form": form}
        return render(request, "devices/new.html", context, status=422 if form.is_bound else 200)
    logout(request)
    response = redirect("devices:who")
    keep_tablet(response, enrolled[1])
    return response


def _enrolled(form: EnrolForm, here: Device | None, *, by: Actor) -> tuple[Device, str]:
    return enrol_device(form.as_input(replaces=here.pk if here is not None else None), by=by)


@allowed(access.may_manage_tablets)
@require_POST
def end(request: StaffRequest, pk: int) -> HttpResponse:
    row, by = find_row(Device.objects, pk=pk), actor_of(request)

    def effect() -> str:
        end_device(row.pk, by=by)
        return reverse("devices:index")

    location = once(request, effect, by=by)
    messages.success(request, _("%s is no longer signed in.") % row.name)
    return HttpResponseRedirect(location)


@sensitive_post_parameters("password", "pin", "again")
@allowed(access.may_have_pin)
@require_http_methods(["GET", "HEAD", "POST"])
def own_pin(request: StaffRequest) -> HttpResponse:
    data, by = request.POST if request.method == "POST" else None, actor_of(request)
    form = OwnPinForm(data)

    def effect() -> bool:
        # not by way of a request key: it would keep a hash of password and PIN, which is soon guessed
        set_pin(form.cleaned_data["pin"], by=by)
        return True

    if _is_proven(request, form) and attempt(form, effect):
        messages.success(request, _("Your PIN is set. It counts at every tablet of the shop."))
        return redirect("devices:own_pin")
    context = {"page": own_pin_page(request.user), "form": form}
    return render(request, "devices/own_pin.html", context, status=422 if form.is_bound else 200)


def _is_proven(request: StaffRequest, form: WithPassword) -> bool:
    """Whether the form is whole and holds the person's password; wrong ones are counted and told."""
    if not form.is_valid():
        return False
    person, by = request.user, actor_of(request)
    knock = Knock(name=person.username, address=request.META.get("REMOTE_ADDR") or "")
    limits = (Limit(key=f"own password of person:{person.pk}", most=MOST_OF_A_NAME, within=WITHIN),)
    if knocked(limits, knock=knock, by=by) is not None:
        form.add_error("password", _("There were too many wrong tries. Wait a quarter of an hour."))
        return False
    if person.check_password(form.cleaned_data["password"]):
        forgive(limits, by=by)
        return True
    note_miss(limits, knock=knock, step="own password", by=by)
    form.add_error("password", _("This is not your password. Try again."))
    return False
