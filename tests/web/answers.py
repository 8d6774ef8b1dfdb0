"""Every question of the access table: address × method × role × own, other's or missing record."""

import os
import re
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import product
from urllib.parse import urlsplit

from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import resolve

from tests.web.addresses import MISSING, MISSING_PK, Address, addresses
from tests.web.world import ROLES, World

METHODS = ("GET", "POST")


@dataclass(frozen=True, kw_only=True)
class Asked:
    """One request of the table."""

    address: Address
    record: str
    role: str
    method: str


@dataclass(frozen=True, kw_only=True)
class Told:
    """One answer: its status, the page that it leads to, and its bytes without the address asked for."""

    status: int
    leads_to: str
    body: bytes
    headers: Mapping[str, str] = field(compare=False)

    @property
    def cell(self) -> str:
        return f"{self.status} {self.leads_to}".strip()


# drawn anew for each answer, and of no meaning to a reader
_NONCE = re.compile(rb"nonce=\"[^\"]+\"")

type Table = dict[Asked, Told]


@contextmanager
def rolled_back() -> Iterator[None]:
    """A transaction of the test: nothing of it stays, and a view that asks to be in none doesn't see it."""
    block = transaction.atomic()
    block._from_testcase = True
    with block:
        yield
        transaction.set_rollback(True)


def records(address: Address) -> tuple[str, ...]:
    return ("own", "other's", "missing") if address.kind else ("",)


def every_possible_question() -> Iterator[Asked]:
    for address in addresses():
        for record, role, method in product(records(address), ROLES, METHODS):
            yield Asked(address=address, record=record, role=role, method=method)


def every_question() -> Iterator[Asked]:
    """All of them with SHOPAPP_ALL_VALUES=1 and where the table is written, else none twice."""
    is_whole = any(os.environ.get(name) for name in ("SHOPAPP_ALL_VALUES", "SHOPAPP_WRITE_GOLDEN"))
    return (one for one in every_possible_question() if is_whole or not is_anybodys(one))


def is_anybodys(asked: Asked) -> bool:
    """The desk sees every record of the shop, so that one more of a kind is answered as the first was."""
    is_shops = not asked.address.name.startswith("approvals:")
    return asked.record == "other's" and asked.role in ("front desk", "owner") and is_shops


def key_of(asked: Asked, world: World) -> object:
    kind = asked.address.kind
    if asked.record == "missing":
        return MISSING.get(kind, MISSING_PK)
    return (world.own if asked.record == "own" else world.others).get(kind, "")


def ask(asked: Asked, world: World) -> Told:
    """One request of a fresh browser; nothing of it stays."""
    client = browser(asked.role, world)
    path = asked.address.path(key_of(asked, world))
    with rolled_back():
        if asked.method == "GET":
            response = client.get(path)
        else:
            response = client.post(path, {"once_key": str(uuid.uuid4())})
    return told(response, path)


def browser(role: str, world: World, **options: bool) -> Client:
    """A fresh browser of somebody in this role; a breakdown is an answer like any other."""
    client = Client(raise_request_exception=False, **options)
    client.cookies.load(world.cookies[role])
    return client


def told(response: HttpResponse, path: str) -> Told:
    location = urlsplit(response.headers.get("Location", "")).path
    leads_to = resolve(location).view_name if location else ""
    return Told(
        status=response.status_code,
        leads_to=leads_to,
        body=_NONCE.sub(b"", response.getvalue().replace(path.encode(), b"...")),
        headers=dict(response.headers),
    )


def all_answers(world: World) -> Table:
    """The answer to every question."""
    return {asked: ask(asked, world) for asked in every_question()}
