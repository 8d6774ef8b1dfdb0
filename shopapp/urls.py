"""One line a room."""

from django.urls import include, path

from shopapp.web.today.views import start

urlpatterns = [
    path("", start, name="start"),
    path("", include("shopapp.web.service_worker.urls")),
    path("health/", include("shopapp.web.health.urls")),
    path("today/", include("shopapp.web.today.urls")),
    path("find/", include("shopapp.web.find.urls")),
    path("calls/", include("shopapp.web.calls.urls")),
    path("people/", include("shopapp.web.people.urls")),
    path("arrivals/", include("shopapp.web.arrivals.urls")),
    path("customers/", include("shopapp.web.customers.urls")),
    path("work-orders/", include("shopapp.web.work_orders.urls")),
    path("parts/", include("shopapp.web.parts.urls")),
    path("spec-book/", include("shopapp.web.spec_book.urls")),
    path("step-lists/", include("shopapp.web.step_lists.urls")),
    path("media/", include("shopapp.web.media.urls")),
    path("quotes/", include("shopapp.web.quotes.urls")),
    path("approvals/", include("shopapp.web.approvals.urls")),
    path("shop/", include("shopapp.web.shop.urls")),
    path("devices/", include("shopapp.web.devices.urls")),
    path("time-sheets/", include("shopapp.web.time_sheets.urls")),
    path("used-oil/", include("shopapp.web.used_oil.urls")),
    path("bench/", include("shopapp.web.bench.urls")),
    path("invoices/", include("shopapp.web.invoices.urls")),
]

handler400 = "shopapp.web.shared.breakdowns.not_understood"
handler500 = "shopapp.web.shared.breakdowns.broken"
