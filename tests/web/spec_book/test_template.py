"""An empty table to fill in, with the heads that are understood."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.models import Person
from shopapp.queries.spec_rows import MODELS
from shopapp.web.spec_book.imports import columns_of

SignedIn = Callable[[Person], Client]


@pytest.mark.parametrize("kind", MODELS)
def test_empty_table_has_the_heads_of_its_kind(maren: Person, signed_in: SignedIn, kind: str) -> None:
    answer = signed_in(maren).get("/spec-book/template/", {"kind_of_value": kind})

    heads = ",".join(f'"{name}"' for name in columns_of(kind))
    assert (answer.status_code, b"".join(answer).decode("utf-8-sig").strip()) == (200, heads)
    assert "attachment" in answer.headers["Content-Disposition"]


def test_desk_needs_none(ilse: Person, signed_in: SignedIn) -> None:
    assert signed_in(ilse).get("/spec-book/template/").status_code == 403
