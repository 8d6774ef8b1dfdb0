"""The legend shows each sign by shape, word and sentence."""

from collections.abc import Callable

import pytest
from django.conf import settings
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from shopapp.models import Hold, Person, Stage

SignedIn = Callable[[Person], Client]
ADDRESS = "/work-orders/signs/"


@pytest.mark.parametrize("who", ["ilse", "maren", "tobiah"])
def test_signs_name_every_stage_and_hold(
    request: pytest.FixtureRequest, signed_in: SignedIn, who: str
) -> None:
    content = signed_in(request.getfixturevalue(who)).get(ADDRESS).content.decode()

    sprite = (settings.BASE_DIR / "static/icons/signs.svg").read_text(encoding="utf-8")
    shapes = [stage.value.replace("_", "-") for stage in Stage] + [f"hold-{hold.value}" for hold in Hold]
    assert [shape for shape in shapes if f"signs.svg#{shape}" not in content] == []
    assert [shape for shape in shapes if f'id="{shape}"' not in sprite] == []
    words = [str(one.label) for one in (*Stage, *Hold)]
    assert [word for word in words if f"<span>{word}</span>".replace("'", "&#x27;") not in content] == []


def test_signs_take_three_queries(
    ilse: Person, signed_in: SignedIn, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    client = signed_in(ilse)

    with django_assert_num_queries(3):
        client.get(ADDRESS)
