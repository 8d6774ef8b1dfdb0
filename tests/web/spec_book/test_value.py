"""A value of the book is put right."""

from collections.abc import Callable

import pytest
from django.test import Client

from shopapp.actions.actor import Actor
from shopapp.models import FluidCapacity, Person, TighteningSpec
from shopapp.queries.spec_rows import MODELS
from tests.factories.spec_book import written_family
from tests.web.spec_book.test_new_value import TYPED

SignedIn = Callable[[Person], Client]
By = Callable[[Person], Actor]
Key = Callable[[], dict[str, str]]


@pytest.mark.parametrize("kind", MODELS)
def test_form_holds_what_stands_and_saves_the_change(
    *, maren: Person, signed_in: SignedIn, by: By, key: Key, kind: str
) -> None:
    written_family(by(maren))
    row = MODELS[kind]._default_manager.earliest("pk")
    address, client = f"/spec-book/value/{kind}-{row.pk}/", signed_in(maren)

    opened = client.get(address)
    saved = client.post(address, TYPED[kind] | {"version": "1", "page": "9-9"} | key())

    row.refresh_from_db()
    assert (opened.status_code, saved.status_code, row.page, row.version) == (200, 302, "9-9", 2)


def test_joint_is_shown_as_it_was_written(maren: Person, signed_in: SignedIn, by: By) -> None:
    written_family(by(maren))
    spec = TighteningSpec.objects.get()
    TighteningSpec.objects.update(sequence=[3, 6, 2, 7, 4, 5, 1, 8])

    content = signed_in(maren).get(f"/spec-book/value/tightening-{spec.pk}/").content.decode()

    assert ('value="3, 6, 2, 7, 4, 5, 1, 8"' in content, 'value="90"' in content) == (True, True)


def test_second_editor_sees_both_versions_t22(maren: Person, signed_in: SignedIn, by: By, key: Key) -> None:
    written_family(by(maren))
    row, client = FluidCapacity.objects.get(), signed_in(maren)
    address, typed = f"/spec-book/value/capacity-{row.pk}/", TYPED["capacity"] | {"version": "1"}
    client.post(address, typed | {"product": "80W-90"} | key())

    lost = client.post(address, typed | {"product": "75W-90"} | key())

    content = lost.content.decode()
    assert (lost.status_code, FluidCapacity.objects.get().product) == (409, "80W-90")
    assert ("80W-90" in content, "75W-90" in content) == (True, True)


@pytest.mark.parametrize("slug", ["capacity-999999", "mood-1", "capacity"])
def test_value_that_is_missing_is_404(maren: Person, signed_in: SignedIn, slug: str) -> None:
    assert signed_in(maren).get(f"/spec-book/value/{slug}/").status_code == 404


def test_desk_may_not_open_the_form(maren: Person, tobiah: Person, signed_in: SignedIn, by: By) -> None:
    written_family(by(maren))

    answer = signed_in(tobiah).get(f"/spec-book/value/capacity-{FluidCapacity.objects.get().pk}/")

    assert answer.status_code == 403
