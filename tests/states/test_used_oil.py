"""Containers in any order of entries, undo and strikes: a level is what stands in less what stands out.

The oracle is a plain count beside the app: a list of litres for each container, from what was done alone. An
undo may come before the entry that it takes back, and every entry comes twice.
"""

from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import initialize, invariant, rule

from shopapp.actions import waste
from shopapp.actions.actor import Actor, Scope
from shopapp.actions.corrections import strike_row
from shopapp.calc.errors import BadInput
from shopapp.models import Job, Person, Stage, WasteContainer, WasteHandOver, WasteKind, WastePour
from shopapp.queries.entries import Sent
from shopapp.queries.used_oil import level, with_level
from tests.conftest import NOW
from tests.factories import PersonFactory, found_shop
from tests.factories.entries import Tablet, mark_of, tablet_of
from tests.factories.jobs import job_at
from tests.factories.waste import container_of
from tests.states.running import ShopMachine, run

WHICH = st.sampled_from([0, 1])
VOLUMES = st.integers(1, 5_000)
PICK = st.integers(0, 30)
# what a technician can see of old oil, and whether the drum or the water can takes it: written down once more
BELONGS = {"clean": 0, "metal": 0, "milky": 1, "fuel": None}


@dataclass(kw_only=True)
class Part:
    """So much that stands in a container, or went out of it."""

    where: int
    ml: int
    is_out: bool = False
    stands: bool = True


class UsedOil(ShopMachine):
    """Two containers, a technician at a tablet, the desk."""

    def __init__(self) -> None:
        super().__init__()
        self.by_entry: dict[str, Part] = {}
        self.by_row: dict[tuple[str, int], Part] = {}

    @initialize()
    def shop_is_open(self) -> None:
        found_shop()
        self.ilse: Person = PersonFactory.create(username="ilse", name="Ilse Brandt")
        maren = PersonFactory.create(username="maren", name="Maren Falk", is_owner=True)
        self.tobiah: Person = PersonFactory.create(username="tobiah", is_technician=True)
        self.desk = Actor(scope=Scope.DESK, person=self.ilse, at=NOW)
        self.job: Job = job_at(Stage.IN_HAND, technician=self.tobiah)
        self.tablet: Tablet = tablet_of(maren, self.tobiah, at=NOW)
        self.containers: list[WasteContainer] = [
            container_of(self.desk),
            container_of(self.desk, name="Water can", kind=WasteKind.OILY_WATER, size_ml=20_000),
        ]

    @rule(where=WHICH, ml=VOLUMES, look=st.sampled_from(sorted(BELONGS)), is_undone_first=st.booleans())
    def drain(self, where: int, ml: int, look: str, *, is_undone_first: bool) -> None:
        """What is drained at the bench, sometimes taken back before the shop has heard of it."""
        sent = self._drained(where, ml=ml, look=look)
        if is_undone_first:
            self._take(self.tablet.write("undo", None, self.tobiah, {"entry": mark_of(sent)}))
        self._take(sent)
        if BELONGS[look] == where:
            self.by_entry[mark_of(sent)] = Part(where=where, ml=ml, stands=not is_undone_first)

    def _drained(self, where: int, *, ml: int, look: str) -> Sent:
        row = self.containers[where]
        content: dict[str, Any] = {
            "point": "Gearcase",
            "product": "Gear oil",
            "drained": ml,
            "measure": "ml",
            "condition": look,
            "container": f"{row.pk}: {row.name}",
        }
        return self.tablet.write("fluid", self.job, self.tobiah, content)

    def _take(self, sent: Sent) -> None:
        for _twice in range(2):
            self.tablet.take(sent)

    @rule(pick=PICK)
    def take_back(self, pick: int) -> None:
        """The technician takes an entry back."""
        if self.by_entry:
            mark = list(self.by_entry)[pick % len(self.by_entry)]
            self._take(self.tablet.write("undo", None, self.tobiah, {"entry": mark}))
            self.by_entry[mark].stands = False

    @rule(where=WHICH, ml=VOLUMES)
    def put_in(self, where: int, ml: int) -> None:
        kind = WasteKind(self.containers[where].kind)
        data = waste.PutInInput(volume_ml=ml, kind=kind, what="Drip tray")
        row = waste.put_in(self.containers[where].pk, data, by=self.desk)
        self.by_row["pour", row.pk] = Part(where=where, ml=ml)

    @rule(where=WHICH, ml=VOLUMES, kind=st.sampled_from(list(WasteKind)))
    def put_another_kind_in(self, where: int, ml: int, kind: WasteKind) -> None:
        if kind == self.containers[where].kind:
            return
        data = waste.PutInInput(volume_ml=ml, kind=kind, what="Drip tray")
        with pytest.raises(BadInput):
            waste.put_in(self.containers[where].pk, data, by=self.desk)

    @rule(where=WHICH, ml=VOLUMES)
    def hand_over(self, where: int, ml: int) -> None:
        data = waste.HandOverInput(volume_ml=ml, collector="Inlet Oil Collection", taken_at=NOW)
        row = waste.hand_over(self.containers[where].pk, data, by=self.desk)
        self.by_row["hand over", row.pk] = Part(where=where, ml=ml, is_out=True)

    @rule(pick=PICK)
    def strike(self, pick: int) -> None:
        """The desk strikes out a row of the log."""
        if self.by_row:
            key = list(self.by_row)[pick % len(self.by_row)]
            deed = waste.strike_pour if key[0] == "pour" else waste.strike_hand_over
            deed(key[1], reason="wrong", by=self.desk)
            self.by_row[key].stands = False

    @rule(pick=PICK, is_pour=st.booleans())
    def strike_what_was_drained(self, pick: int, *, is_pour: bool) -> None:
        """The desk strikes the fluid itself, or only what stands in the container."""
        rows = list(WastePour.objects.filter(fluid_entry__isnull=False).order_by("pk"))
        if not rows:
            return
        row = rows[pick % len(rows)]
        if is_pour:
            waste.strike_pour(row.pk, reason="wrong", by=self.desk)
        else:
            strike_row(("fluid_entry", row.fluid_entry_id or 0), reason="wrong", by=self.desk)
        entry = f"fluid_entry-{row.fluid_entry_id}"
        marks = self.tablet.device.entries.filter(row=entry).values_list("entry_id", flat=True)
        self.by_entry[str(marks.get())].stands = False

    @rule(where=WHICH)
    def put_away_and_take_into_use_again(self, where: int) -> None:
        waste.end_container(self.containers[where].pk, by=self.desk)
        waste.reopen_container(self.containers[where].pk, by=self.desk)

    @invariant()
    def levels_are_the_plain_count(self) -> None:
        if not hasattr(self, "containers"):
            return
        parts = [*self.by_entry.values(), *self.by_row.values()]
        counted = [0, 0]
        for one in parts:
            if one.stands:
                counted[one.where] += -one.ml if one.is_out else one.ml
        rows = with_level(WasteContainer.objects.order_by("pk"))
        assert [level(row).ml for row in rows] == counted

    def end(self) -> None:
        """Nothing was dropped: what was struck is still there to read."""
        outs = [key for key in self.by_row if key[0] == "hand over"]
        assert WasteHandOver.objects.count() == len(outs)
        assert WastePour.objects.count() == len(self.by_entry) + len(self.by_row) - len(outs)


@pytest.mark.django_db
def test_levels_hold_in_any_order() -> None:
    run(UsedOil, runs=8, steps=12)
