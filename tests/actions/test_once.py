"""A key runs its effect once."""

import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import replace
from threading import Event

import pytest
from django.db import connection, transaction

from shopapp.actions.actor import Actor
from shopapp.actions.once import Request, once
from shopapp.actions.refusals import Busy, Refused
from shopapp.calc.errors import BadInput
from shopapp.models import Customer, Person, RequestKey
from tests.factories import CustomerFactory
from tests.side_by_side import outcomes, started

pytestmark = pytest.mark.django_db

BUSY = "Something else is just being saved and took too long. Wait a moment, then send it again."


def test_once_answers_a_repeat_without_repeating(ilse: Person, by: Callable[[Person], Actor]) -> None:
    runs: list[int] = []
    request = Request(key=uuid.uuid4(), route="/somewhere/", payload_sha256="0" * 64)

    def effect() -> str:
        runs.append(1)
        return "/there/"

    first = once(request, effect, by=by(ilse))
    second = once(request, effect, by=by(ilse))

    assert (first, second, len(runs)) == ("/there/", "/there/", 1)


def test_once_refuses_other_content_t20(ilse: Person, by: Callable[[Person], Actor]) -> None:
    key = uuid.uuid4()
    once(Request(key=key, route="/a/", payload_sha256="0" * 64), lambda: "/there/", by=by(ilse))

    with pytest.raises(BadInput, match="request key"):
        once(Request(key=key, route="/a/", payload_sha256="1" * 64), lambda: "/there/", by=by(ilse))


def test_once_frees_the_key_of_a_refusal(ilse: Person, by: Callable[[Person], Actor]) -> None:
    request = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64)

    def refuse() -> str:
        raise BadInput("quantity", "x", "a number")

    with pytest.raises(BadInput, match="quantity"):
        once(request, refuse, by=by(ilse))

    assert RequestKey.objects.count() == 0
    assert once(request, lambda: "/there/", by=by(ilse)) == "/there/"


@pytest.mark.parametrize("other", [{"route": "/b/"}, {"payload_sha256": "1" * 64}])
def test_once_keeps_the_first_outcome_from_others_t20(
    ilse: Person, by: Callable[[Person], Actor], other: dict[str, str]
) -> None:
    first = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64)
    once(first, lambda: "/there/", by=by(ilse))

    with pytest.raises(BadInput, match="other content"):
        once(replace(first, **other), lambda: "/elsewhere/", by=by(ilse))

    assert once(first, lambda: "/elsewhere/", by=by(ilse)) == "/there/"


def test_once_gives_nobody_anothers_outcome(
    ilse: Person, maren: Person, by: Callable[[Person], Actor]
) -> None:
    request = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64)
    once(request, lambda: "/there/", by=by(ilse))

    with pytest.raises(BadInput, match="request key"):
        once(request, lambda: "/elsewhere/", by=by(maren))


def test_once_stores_the_outcome_with_the_effect_t19(ilse: Person, by: Callable[[Person], Actor]) -> None:
    """The answer got lost after the commit: the retry finds the effect and its outcome."""
    request = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64)

    def open_customer() -> str:
        return f"/customers/{CustomerFactory().pk}/"

    once(request, open_customer, by=by(ilse))
    answer = once(request, open_customer, by=by(ilse))

    assert answer == f"/customers/{Customer.objects.get().pk}/"
    assert list(RequestKey.objects.values_list("location", "actor")) == [(answer, f"person:{ilse.pk}")]


@pytest.mark.parametrize(
    "refusal", [Refused("no"), BadInput("quantity", "x", "a number"), RuntimeError("bug")]
)
def test_once_leaves_nothing_of_what_failed(
    ilse: Person, by: Callable[[Person], Actor], refusal: Exception
) -> None:
    request = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64)

    def fail_half_way() -> str:
        CustomerFactory()
        raise refusal

    with pytest.raises(type(refusal)):
        once(request, fail_half_way, by=by(ilse))

    assert (Customer.objects.count(), RequestKey.objects.count()) == (0, 0)


class Slow:
    """An effect that stays half-way until it is let go, as a slow disk would make it."""

    def __init__(self) -> None:
        self.is_under_way, self.may_end, self.runs = Event(), Event(), 0

    def __call__(self) -> str:
        self.runs += 1
        self.is_under_way.set()
        self.may_end.wait(10)
        return f"/customers/{CustomerFactory().pk}/"


@pytest.mark.django_db(transaction=True)
def test_second_sender_waits_then_gets_the_outcome_t21(ilse: Person, by: Callable[[Person], Actor]) -> None:
    request, slow = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64), Slow()
    with ThreadPoolExecutor(2) as pool:
        first = started(lambda: once(request, slow, by=by(ilse)), pool)
        slow.is_under_way.wait(10)

        second = started(lambda: once(request, slow, by=by(ilse)), pool)
        waited = not wait([second], timeout=0.3).done
        slow.may_end.set()

    customer = Customer.objects.get()
    assert waited
    assert (first.result(), second.result()) == (f"/customers/{customer.pk}/",) * 2
    assert slow.runs == 1


@pytest.mark.django_db(transaction=True)
def test_second_sender_runs_when_the_first_fails_t21(ilse: Person, by: Callable[[Person], Actor]) -> None:
    request, is_under_way, may_end = (
        Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64),
        Event(),
        Event(),
    )

    def fail_late() -> str:
        is_under_way.set()
        may_end.wait(10)
        raise Refused("no")

    with ThreadPoolExecutor(2) as pool:
        first = started(lambda: once(request, fail_late, by=by(ilse)), pool)
        is_under_way.wait(10)
        second = started(lambda: once(request, lambda: "/there/", by=by(ilse)), pool)
        wait([second], timeout=0.2)
        may_end.set()

    assert isinstance(first.exception(), Refused)
    assert second.result() == "/there/"
    assert RequestKey.objects.get().location == "/there/"


@pytest.fixture
def short_wait(settings: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """A wait that runs out while one looks on; SQLite takes it when a connection is opened."""
    settings.LOCK_WAIT_SECONDS = 0.2
    if connection.vendor == "sqlite":
        monkeypatch.setitem(connection.settings_dict["OPTIONS"], "timeout", 0.2)


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("short_wait")
def test_wait_that_runs_out_is_busy_t21(ilse: Person, by: Callable[[Person], Actor]) -> None:
    request, slow = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64), Slow()

    with ThreadPoolExecutor(2) as pool:
        first = started(lambda: once(request, slow, by=by(ilse)), pool)
        slow.is_under_way.wait(10)
        second = started(lambda: once(request, slow, by=by(ilse)), pool)
        busy = second.exception(timeout=10)
        slow.may_end.set()
    retry = once(request, slow, by=by(ilse))

    assert isinstance(busy, Busy)
    assert busy.sentence == BUSY
    assert (retry, slow.runs) == (first.result(), 1)


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("short_wait")
def test_wait_for_others_is_not_called_the_same(ilse: Person, by: Callable[[Person], Actor]) -> None:
    """Somebody else's work on the record, under a key of its own."""
    customer, is_held, may_end = CustomerFactory(), Event(), Event()

    def hold() -> None:
        with transaction.atomic():
            Customer.objects.select_for_update().get(pk=customer.pk)
            is_held.set()
            may_end.wait(10)

    def work() -> str:
        return f"/customers/{Customer.objects.select_for_update().get(pk=customer.pk).pk}/"

    request = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64)
    with ThreadPoolExecutor(2) as pool:
        holder = started(hold, pool)
        is_held.wait(10)
        busy = started(lambda: once(request, work, by=by(ilse)), pool).exception(timeout=10)
        may_end.set()
        holder.result()

    assert isinstance(busy, Busy)
    assert busy.sentence == BUSY


@pytest.mark.django_db(transaction=True)
def test_five_senders_at_once_make_one_effect_t21(ilse: Person, by: Callable[[Person], Actor]) -> None:
    request = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64)

    answers = outcomes(
        [lambda: once(request, lambda: f"/customers/{CustomerFactory().pk}/", by=by(ilse))] * 5
    )

    assert answers == [f"/customers/{Customer.objects.get().pk}/"] * 5
