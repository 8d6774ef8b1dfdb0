"""From where too many links that lead nowhere were tried of late."""

import ipaddress
import json
from dataclasses import dataclass
from datetime import datetime, timedelta

from shopapp.models import Activity, MissCount

# a customer mistypes a link a few times; whoever tries more is guessing
MOST_MISSES = 30
WITHIN = timedelta(minutes=10)
# how such a place is told of in the activity chain
MANY = "many wrong links"
LATELY = timedelta(days=7)
MOST_TOLD = 5


@dataclass(frozen=True, kw_only=True)
class Guesser:
    """A place from which many links that lead nowhere were tried; no place once its facts are erased."""

    place: str
    tried_at: datetime


def is_guessing(address: str, *, at: datetime) -> bool:
    """Whether as many misses as one place may have were counted lately. One query."""
    rows = MissCount.objects.filter(
        address=place_of(address), misses__gte=MOST_MISSES, since_at__gt=at - WITHIN
    )
    return rows.exists()


def place_of(address: str) -> str:
    """Where somebody is, as it is counted: one IPv4 address, or the network that one IPv6 line is given."""
    try:
        ip = ipaddress.ip_address(address)
    except ValueError:
        return "unknown"
    if isinstance(ip, ipaddress.IPv4Address):
        return str(ip)
    if ip.ipv4_mapped is not None:
        return str(ip.ipv4_mapped)
    return str(ipaddress.ip_network((int(ip), 64), strict=False))


def guessers(*, at: datetime) -> tuple[Guesser, ...]:
    """Where links were guessed from in the last days, newest first. One query."""
    rows = Activity.objects.filter(actor="system", verb=MANY, happened_at__gt=at - LATELY).order_by("-seq")
    told = rows.values_list("payload", "happened_at")[:MOST_TOLD]
    return tuple(
        Guesser(place=json.loads(payload)["address"] if payload else "", tried_at=tried_at)
        for payload, tried_at in told
    )
