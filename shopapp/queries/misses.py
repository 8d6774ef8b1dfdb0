"""From where too many links that lead nowhere were tried of late."""

import ipaddress
from datetime import datetime, timedelta

from shopapp.models import MissCount

# a customer mistypes a link a few times; whoever tries more is guessing
MOST_MISSES = 30
WITHIN = timedelta(minutes=10)


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
