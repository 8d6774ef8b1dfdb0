"""Signing in and out."""

import logging

from django.conf import settings
from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from shopapp.queries.people import SignInPage
from shopapp.web.people.forms import SignInForm

logger = logging.getLogger("shopapp.access")


@sensitive_post_parameters("password")
@login_not_required
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    form = SignInForm(request, request.POST if request.method == "POST" else None)
    if form.is_valid() and form.person is not None:
        login(request, form.person)
        return HttpResponseRedirect(_next_page(request))
    if request.method == "POST":
        # without the name: people type a password into the wrong field
        logger.info(
            "refused to sign somebody in from %s", request.META.get("REMOTE_ADDR", "an unknown address")
        )
    context = {"page": SignInPage(next=_next_page(request)), "form": form}
    return render(request, "people/sign_in.html", context, status=422 if request.method == "POST" else 200)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("people:sign_in")


def _next_page(request: HttpRequest) -> str:
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    is_ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if is_ours else resolve_url(settings.LOGIN_REDIRECT_URL)
