"""The shop's own record of a way of putting right on an engine family, beside what other families say."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from django.utils.translation import gettext as _

from shopapp.calc.life import Clock, Season, seasons_since
from shopapp.calc.record import Belief, Fate, Outcome, Seen, believed_beside, seen_by, speaks
from shopapp.models import Shop
from shopapp.queries.repairs import Repair, repairs

MONTHS_A_YEAR = 12
# a chance is that of a failure within one season
ONE_SEASON = 1.0


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """Whose record is asked for: a way (a value of Way) and an engine family (`engines.family_key`).

    An empty family is that of an engine nobody knows: it has no record of its own.
    """

    way: str
    family: str


@dataclass(frozen=True, kw_only=True)
class RepairRecord:
    """What became of repairs of a way on a family; `others`: by the same way, on all other families.

    The four counts are of all repairs; "2 of 9" is `came_back` of `told`. `too_young`: not told, because less
    than a year is known of them. `says` is empty while nothing is told; a customer may read it.
    """

    way: str
    family: str
    came_back: int
    held: int
    still_running: int
    unknown: int
    told: int
    too_young: int
    since_year: int | None
    says: str
    repairs: tuple[Repair, ...]
    others: tuple[Repair, ...]

    def seen(self, *, clock: Clock = Clock.CALENDAR, season: Season | None = None) -> Seen:
        """What the record says of failures within one season, by Kaplan and Meier."""
        return seen_by(outcomes(self.repairs, clock=clock, season=season), time=ONE_SEASON)

    def others_seen(self, *, clock: Clock = Clock.CALENDAR, season: Season | None = None) -> Seen:
        """What the wider group says of the same."""
        return seen_by(outcomes(self.others, clock=clock, season=season), time=ONE_SEASON)

    def belief(self, *, prior: float, clock: Clock = Clock.CALENDAR, season: Season | None = None) -> Belief:
        """The chance of a failure within a season; `prior` is the shop's starting chance for this way."""
        own, others = (ask(clock=clock, season=season) for ask in (self.seen, self.others_seen))
        return believed_beside(own, others=others, prior=prior)

    def speaks(self, *, clock: Clock = Clock.CALENDAR, season: Season | None = None) -> bool:
        """Whether the record is told to a customer instead of a judgement: from about ten repairs."""
        return speaks(self.seen(clock=clock, season=season))


def outcomes(
    known: Sequence[Repair], *, clock: Clock = Clock.CALENDAR, season: Season | None = None
) -> tuple[Outcome, ...]:
    """Repairs as times in seasons, each from its own hand-over; without a season a year counts as one.

    `season` says when boats run; the month of hand-over in it is not used.
    """
    if clock is Clock.CALENDAR or season is None:
        times = [one.months / MONTHS_A_YEAR for one in known]
    else:
        times = _seasons_run(known, season=season)
    return tuple(
        Outcome(time=time, failed=one.fate == Fate.CAME_BACK) for one, time in zip(known, times, strict=True)
    )


def _seasons_run(known: Sequence[Repair], *, season: Season) -> list[float]:
    months = np.array([one.months for one in known])
    handed_over = np.array([one.handed_over.month for one in known])
    times = np.zeros(len(known))
    for month in range(1, MONTHS_A_YEAR + 1):
        which = handed_over == month
        ours = replace(season, handed_over=month)
        times[which] = seasons_since(months[which], clock=Clock.USE, season=ours)
    return [float(time) for time in times]


def repair_records(wanted: Collection[Wanted], *, shop: Shop, at: datetime) -> Mapping[Wanted, RepairRecord]:
    """The record of each as of a moment. Two queries, however many are asked for, and no costs in them."""
    by_way: defaultdict[str, list[Repair]] = defaultdict(list)
    for repair in repairs({one.way for one in wanted}, shop=shop, at=at):
        by_way[repair.way].append(repair)
    return {one: _record(one, by_way[one.way]) for one in wanted}


def repair_record(wanted: Wanted, *, shop: Shop, at: datetime) -> RepairRecord:
    """The record of one. Two queries."""
    return repair_records([wanted], shop=shop, at=at)[wanted]


def _record(wanted: Wanted, of_way: Sequence[Repair]) -> RepairRecord:
    own = tuple(one for one in of_way if wanted.family and one.family == wanted.family)
    others = tuple(one for one in of_way if not wanted.family or one.family != wanted.family)
    return counted(wanted, own, others=others)


def counted(wanted: Wanted, own: tuple[Repair, ...], *, others: tuple[Repair, ...] = ()) -> RepairRecord:
    """What these repairs come to, beside those of other families. No query."""
    told = [one for one in own if one.is_told]
    came_back = _count(own, Fate.CAME_BACK)
    since = min((one.handed_over.year for one in told), default=None)
    return RepairRecord(
        way=wanted.way,
        family=wanted.family,
        came_back=came_back,
        held=_count(own, Fate.HELD),
        still_running=_count(own, Fate.STILL_RUNNING),
        unknown=_count(own, Fate.UNKNOWN),
        told=len(told),
        too_young=len(own) - len(told) - _count(own, Fate.UNKNOWN),
        since_year=since,
        says=_says(came_back, of=len(told), since=since),
        repairs=own,
        others=others,
    )


def _count(found: Sequence[Repair], fate: Fate) -> int:
    return sum(one.fate == fate for one in found)


def _says(came_back: int, *, of: int, since: int | None) -> str:
    """ "2 of 9 here since 2024": how many came back for the same cause."""
    if since is None:
        return ""
    words = {"back": came_back, "of": of, "since": since}
    return _("%(back)s of %(of)s here since %(since)s") % words
