"""Numbers, outcomes, chain and versions under any order of sends, repeats, failures, edits and erasures."""

import uuid
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule

from shopapp.actions import activity
from shopapp.actions.activity import Entry, first_bad_link
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.numbering import take_number
from shopapp.actions.once import Request, once
from shopapp.actions.refusals import Refused, Stale
from shopapp.actions.versions import save_edit
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, Customer, NumberSeries, RequestKey
from tests.conftest import NOW
from tests.factories import CustomerFactory
from tests.states.running import ShopMachine, run

ANY = st.integers(min_value=0, max_value=1_000)
NOTES = st.text(alphabet="abcé", min_size=1, max_size=4)


class Foundations(ShopMachine):
    """Customers stand for any record: opened under a number, edited by several people at once."""

    def __init__(self) -> None:
        super().__init__()
        self.at: datetime = NOW
        self.sent: dict[Request, str] = {}
        self.notes: dict[int, tuple[str, int]] = {}
        self.entries = 0

    @property
    def by(self) -> Actor:
        return Actor(scope=Scope.SYSTEM, at=self.at)

    def opening(self, *, fails: bool = False) -> Callable[[], str]:
        """The effect of a form: a number, a record, a line in the chain."""

        def effect() -> str:
            customer = CustomerFactory(name=take_number("work_order"), note="")
            activity.record(
                [Entry(verb="open", record=customer, facts={"n": str(customer.name)})], by=self.by
            )
            if fails:
                raise Refused("no")
            return f"/customers/{customer.pk}/"

        return effect

    @rule(minutes=st.integers(min_value=-3_000, max_value=3_000))
    def clock_moves(self, minutes: int) -> None:
        self.at += timedelta(minutes=minutes)

    @rule()
    def form_is_sent(self) -> None:
        request = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64)

        location = once(request, self.opening(), by=self.by)

        customer = Customer.objects.latest("pk")
        assert location == f"/customers/{customer.pk}/"
        self.sent[request] = location
        self.notes[customer.pk] = ("", 1)
        self.entries += 1

    @precondition(lambda self: self.sent)
    @rule(which=ANY)
    def form_is_sent_again(self, which: int) -> None:
        request = list(self.sent)[which % len(self.sent)]

        assert once(request, self.opening(), by=self.by) == self.sent[request]

    @precondition(lambda self: self.sent)
    @rule(which=ANY)
    def key_is_used_for_something_else(self, which: int) -> None:
        request = list(self.sent)[which % len(self.sent)]
        other = Request(key=request.key, route="/b/", payload_sha256="1" * 64)

        with pytest.raises(BadInput):
            once(other, self.opening(), by=self.by)

    @rule(is_retried=st.booleans())
    def form_is_refused(self, is_retried: bool) -> None:
        request = Request(key=uuid.uuid4(), route="/a/", payload_sha256="0" * 64)

        with pytest.raises(Refused):
            once(request, self.opening(fails=True), by=self.by)

        if is_retried:
            self.sent[request] = once(request, self.opening(), by=self.by)
            self.notes[Customer.objects.latest("pk").pk] = ("", 1)
            self.entries += 1

    @precondition(lambda self: self.notes)
    @rule(which=ANY, behind=st.integers(min_value=0, max_value=2), note=NOTES)
    def somebody_saves(self, which: int, behind: int, note: str) -> None:
        pk = list(self.notes)[which % len(self.notes)]
        known, version = self.notes[pk]
        customer = Customer.objects.get(pk=pk)
        if behind == 0:
            save_edit(customer, version=version, changes={"note": note})
            self.notes[pk] = (note, version + 1)
            return

        with pytest.raises(Stale) as caught:
            save_edit(customer, version=version - behind, changes={"note": note})

        assert (caught.value.record.note, caught.value.record.version) == (known, version)

    @precondition(lambda self: self.entries)
    @rule(which=ANY)
    def facts_are_erased(self, which: int) -> None:
        Activity.objects.filter(seq=which % self.entries + 1).update(payload=None, salt=None)

    @invariant()
    def numbers_have_neither_gap_nor_repeat(self) -> None:
        numbers = list(Customer.objects.order_by("name").values_list("name", flat=True))
        following = NumberSeries.objects.values_list("next_value", flat=True).first() or 1

        assert numbers == [f"W-{value:05d}" for value in range(1, len(self.sent) + 1)]
        assert following == len(numbers) + 1

    @invariant()
    def nothing_is_half_or_twice(self) -> None:
        outcomes = dict(RequestKey.objects.values_list("key", "location"))

        assert outcomes == {request.key: location for request, location in self.sent.items()}
        assert Activity.objects.count() == self.entries

    @invariant()
    def nothing_typed_is_lost(self) -> None:
        stored = {row.pk: (row.note, row.version) for row in Customer.objects.all()}

        assert stored == self.notes

    def end(self) -> None:
        assert first_bad_link() is None


@pytest.mark.django_db
def test_foundations_hold_in_any_order_t19_t20_t22() -> None:
    run(Foundations, runs=6, steps=20)
