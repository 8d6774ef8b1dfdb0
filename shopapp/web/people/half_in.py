"""Between password and second step: the browser knows who, but nothing of the shop is open yet."""

from datetime import datetime, timedelta

from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import constant_time_compare

from shopapp.models import Person

HALF_IN = "half_in"
LASTS = timedelta(minutes=10)


def let_half_in(request: HttpRequest, person: Person, *, to: str) -> None:
    """The password fitted; what comes next is the second step, for ten minutes."""
    request.session.flush()
    request.session[HALF_IN] = {
        "person": person.pk,
        "hash": person.get_session_auth_hash(),
        "at": timezone.now().isoformat(),
        "to": to,
    }


def half_in(request: HttpRequest) -> tuple[Person, str] | None:
    """Who waits at the second step and where they want to go; ``None`` when that is too long ago."""
    kept = request.session.get(HALF_IN)
    if kept is None or timezone.now() - datetime.fromisoformat(kept["at"]) > LASTS:
        return None
    person = Person.objects.filter(pk=kept["person"], is_active=True).first()
    if person is None or not constant_time_compare(kept["hash"], person.get_session_auth_hash()):
        return None
    return person, kept["to"]
