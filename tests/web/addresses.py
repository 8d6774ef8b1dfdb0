"""Every address that the resolver knows, and the kind of record that each of them names."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver

# what stands before the key → the kind of record whose key it is
NAMED_BEFORE = {
    "bench/entry/": "tablet entry",
    "time-sheets/": "clock",
    "bench/tablet/": "device",
    "approvals/enter/": "token",
    "approvals/intake/enter/": "intake token",
    "approvals/photo/": "sha256",
    "arrivals/": "work order",
    "bench/dock/": "dock call",
    "bench/dock-photo/": "dock photo",
    "bench/job/": "job",
    "calls/": "call slip",
    "customers/": "customer",
    "devices/": "device",
    "devices/worker/": "worker",
    "customers/engine/": "engine",
    "customers/vessel/": "vessel",
    "invoices/": "invoice",
    "invoices/for/": "work order",
    "invoices/line/": "invoice line",
    "invoices/payment/": "payment",
    "media/photo/": "photo",
    "parts/": "part",
    "people/": "person",
    "people/sessions/": "session",
    "quotes/": "revision",
    "quotes/choice/": "choice",
    "quotes/for/": "work order",
    "quotes/job/": "job",
    "quotes/line/": "line",
    "quotes/option/": "option",
    "shop/fee/": "fee",
    "quotes/removed/": "removed",
    "quotes/question/": "question",
    "quotes/record/": "record",
    "spec-book/": "family",
    "spec-book/value/": "value",
    "step-lists/": "step list",
    "today/parked/": "parked form",
    "used-oil/": "container",
    "used-oil/row/": "waste row",
    "work-orders/": "work order",
    "work-orders/dock-call/": "dock call",
    "work-orders/hold/": "hold",
    "work-orders/job/": "job",
    "work-orders/reading/": "reading",
    "work-orders/row/": "row",
    "work-orders/step/": "step",
    "work-orders/tick/": "tick",
}
# pages that are about a record while it is being written
ABOUT_A_DRAFT = {
    "invoices:add_fee": "draft invoice",
    "invoices:beyond": "draft invoice",
    "invoices:check": "draft invoice",
    "invoices:discard": "draft invoice",
    "invoices:edit": "draft invoice",
    "invoices:issue": "draft invoice",
    "invoices:keep": "draft invoice",
    "invoices:redraft": "draft invoice",
    "invoices:take_in": "draft invoice",
    "quotes:add_job": "draft",
    "quotes:discard": "draft",
    "quotes:discount": "draft",
    "quotes:edit": "draft",
    "quotes:jobs": "draft",
    "quotes:preview": "draft",
    "quotes:send": "draft",
}
# a key that no record has
MISSING = {
    "token": "A" * 43,
    "intake token": "A" * 43,
    "session": "0" * 32,
    "sha256": "0" * 64,
    "dock photo": f"999999-{'0' * 64}",
    "row": "part_used-999999",
    "value": "capacity-999999",
    "record": "used-nobody-x1",
    "waste row": "pour-999999",
}
MISSING_PK = 999_999


@dataclass(frozen=True, kw_only=True)
class Address:
    """An address by name and route, with the kind of record that it names (none for a plain page)."""

    name: str
    route: str
    kind: str

    def path(self, key: object) -> str:
        """The address with this key in its place."""
        return "/" + re.sub(r"<[^>]+>", str(key), self.route)


def addresses() -> list[Address]:
    """Every address, in the resolver's order. Fails for one that names a kind of record not known here."""
    return list(_walk(get_resolver().url_patterns, route="", room=""))


def _walk(patterns: Sequence[URLPattern | URLResolver], *, route: str, room: str) -> Iterator[Address]:
    for pattern in patterns:
        here = route + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from _walk(pattern.url_patterns, route=here, room=f"{pattern.namespace}:")
        else:
            name = f"{room}{pattern.name}"
            yield Address(name=name, route=here, kind=_kind(name, here))


def _kind(name: str, route: str) -> str:
    if "<" not in route:
        return ""
    before = route.partition("<")[0]
    if route.count("<") > 1 or before not in NAMED_BEFORE:
        raise AssertionError(f"{name}: say in NAMED_BEFORE which record {route} names")
    return ABOUT_A_DRAFT.get(name, NAMED_BEFORE[before])
