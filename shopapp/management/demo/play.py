"""Plays the demo's story through the real actions, every step of every visit in the order of the clock."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from shopapp.actions.actor import Actor
from shopapp.management.demo import arriving, asking, beside, book, paying, ticking, waste, working
from shopapp.management.demo.usual import Step, usual_steps
from shopapp.management.demo.world import Facts, Visit, World


class VisitStep(Protocol):
    """What is done in a visit."""

    def __call__(self, visit: Visit, *, facts: Facts, world: World, by: Actor) -> None: ...


class ShopStep(Protocol):
    """What is done beside the visits."""

    def __call__(self, *, facts: Facts, world: World, by: Actor) -> None: ...


VISIT_STEPS: Mapping[str, VisitStep] = {
    "sign terms": arriving.sign_terms,
    "photo": arriving.take_photo,
    "move": arriving.move_thing,
    "hold": arriving.hold,
    "chase": arriving.chase,
    "release": arriving.release,
    "look": working.look,
    "find": working.find,
    "read": book.read,
    "put list": ticking.put_list,
    "put step": ticking.put_step,
    "tick": ticking.tick,
    "add job": working.add_job,
    "price by": working.price_by,
    "name cause": working.name_cause,
    "quote": asking.quote,
    "supplement": asking.supplement,
    "send link": asking.send_link,
    "ask": asking.ask,
    "answer": asking.answer,
    "sign": asking.sign,
    "telephone": asking.telephone,
    "begin by telephone": asking.begin_by_telephone,
    "take back": asking.take_back,
    "send again": asking.send_again,
    "begin": working.begin,
    "begin small": working.begin_small,
    "use plan": working.use_plan,
    "use part": working.use_part,
    "spend time": working.spend_time,
    "drain": working.drain,
    "send out": working.send_out,
    "get back": working.get_back,
    "charge": working.charge,
    "finish": working.finish,
    "prove": working.prove,
    "lay up": working.lay_up,
    "waive": working.waive,
    "end": working.end,
    "send back": working.send_back,
    "deposit": paying.deposit,
    "draft": paying.draft,
    "give": paying.give,
    "issue": paying.issue,
    "pay": paying.pay,
    "credit": paying.credit,
    "refund": paying.refund,
    "tell": paying.tell,
    "go home": paying.go_home,
    "let go": paying.let_go,
    "call off": paying.call_off,
}
SHOP_STEPS: Mapping[str, ShopStep] = {
    "pick family": book.pick_family,
    "write list": ticking.write_list,
    "slip": beside.write_slip,
    "close slip": beside.close_slip,
    "sell": beside.sell,
    "park": beside.park,
    "begin container": waste.begin_container,
    "put in": waste.put_in,
    "hand over": waste.hand_over,
}


@dataclass(frozen=True, kw_only=True)
class _Act:
    """One step with its moment; ``key`` names the visit, None what happens beside them."""

    at: datetime
    key: str | None
    step: Step


def play(visits: Iterable[Facts], *, beside_them: Iterable[Step], world: World) -> None:
    """Play all steps forward in time; two of the same moment in the order in which they are written."""
    acts = [*_acts(visits, world=world), *(_act(None, step, world=world) for step in beside_them)]
    for act in sorted(acts, key=lambda act: act.at):
        try:
            _do(act, world=world)
        except Exception as error:
            error.add_note(f"{act.key}: {act.step[:3]}")
            raise


def _acts(visits: Iterable[Facts], *, world: World) -> Iterator[_Act]:
    for place, facts in enumerate(visits):
        usual = usual_steps(facts, place=place) if "until" in facts else ()
        for step in (*usual, *facts.get("steps", ())):
            yield _act(facts["key"], step, world=world, facts=facts)


def _act(key: str | None, step: Step, *, world: World, facts: Facts | None = None) -> _Act:
    moment, who, verb, *told = step
    said = told[0] if told else {}
    if verb == "arrive" and facts is not None:
        said = facts
    return _Act(at=world.calendar.moment(moment), key=key, step=(moment, who, verb, said))


def _do(act: _Act, *, world: World) -> None:
    _moment, who, verb, facts = act.step
    by = world.actor(who, at=act.at)
    if act.key is None:
        SHOP_STEPS[verb](facts=facts, world=world, by=by)
    elif verb == "arrive":
        world.visits[act.key] = arriving.arrive(facts, world=world, by=by)
    else:
        VISIT_STEPS[verb](world.visits[act.key], facts=facts, world=world, by=by)
