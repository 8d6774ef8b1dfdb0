"""The service worker's script, and the manifest that puts the bench on a home screen."""

import json

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from shopapp.context import display
from shopapp.web.service_worker.kept_files import LATER, WORKER, kept_files, version

# of the page that the worker answers with by itself: no more than it needs
OWN_POLICY = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self'"
KELP, GROUND = "#0A5A52", "#F4F5F0"


@login_not_required
@require_safe
@gzip_page
def service_worker(request: HttpRequest) -> HttpResponse:
    told = {
        "version": version(),
        "files": [static(name) for name in kept_files()],
        "later": [static(name) for name in LATER],
        "nothingKept": render_to_string("service_worker/nothing_kept.html"),
        "headers": {"Content-Security-Policy": OWN_POLICY, "Cache-Control": "no-store"},
    }
    script = f"self.BENCH = {json.dumps(told)};\nimportScripts({json.dumps(static(WORKER))});\n"
    return _asked_for_each_time(script, kind="text/javascript")


@login_not_required
@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    told = {
        "name": _("Bench, %(shop)s") % {"shop": display(request)["display"].shop_name},
        "short_name": _("Bench"),
        "start_url": reverse("bench:index"),
        "scope": "/",
        "display": "standalone",
        "background_color": GROUND,
        "theme_color": KELP,
        "icons": [_icon(size, purpose=purpose) for size in (192, 512) for purpose in ("any", "maskable")],
    }
    return _asked_for_each_time(json.dumps(told), kind="application/manifest+json")


def _icon(size: int, *, purpose: str) -> dict[str, str]:
    source = static(f"icons/bench-{size}.png")
    return {"src": source, "sizes": f"{size}x{size}", "type": "image/png", "purpose": purpose}


def _asked_for_each_time(text: str, *, kind: str) -> HttpResponse:
    """A worker that a browser went on using unasked could never be mended."""
    headers = {"Cache-Control": "no-cache"}
    return HttpResponse(text, content_type=f"{kind}; charset=utf-8", headers=headers)
