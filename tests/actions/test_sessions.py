"""Sign-ins are ended by who may, and nothing is told where nothing ended."""

from datetime import UTC, datetime

import pytest

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.sessions import end_session, end_sessions
from shopapp.models import Activity, BrowserSession, Person
from tests.models.rows import make

pytestmark = pytest.mark.django_db
AT = datetime(2026, 6, 2, 17, 30, tzinfo=UTC)


def actor(person: Person) -> Actor:
    return Actor(scope=Scope.DESK, person=person, at=AT)


def test_only_the_owner_ends_other_peoples(ilse: Person, wen: Person, maren: Person) -> None:
    row = make(BrowserSession, person=ilse)

    with pytest.raises(NotAllowed, match="Only the owner"):
        end_session(row.code, by=actor(wen))
    with pytest.raises(NotAllowed, match="Only the owner"):
        end_sessions(ilse.pk, by=actor(wen))
    assert BrowserSession.objects.count() == 1

    end_session(row.code, by=actor(maren))
    assert BrowserSession.objects.count() == 0


def test_one_is_kept_and_others_end(ilse: Person, maren: Person) -> None:
    kept, *_ended, hers = [make(BrowserSession, person=one) for one in (ilse, ilse, ilse, maren)]

    assert end_sessions(ilse.pk, keep=kept.code, by=actor(ilse)) == 2
    assert set(BrowserSession.objects.values_list("code", flat=True)) == {kept.code, hers.code}


def test_ending_what_has_ended_leaves_no_trace(ilse: Person) -> None:
    end_session("0" * 32, by=actor(ilse))

    assert (end_sessions(ilse.pk, by=actor(ilse)), Activity.objects.count()) == (0, 0)


def test_session_of_nobody_is_not_ended_by_its_name(maren: Person) -> None:
    row = make(BrowserSession, person=None)

    end_session(row.code, by=actor(maren))

    assert (BrowserSession.objects.count(), Activity.objects.count()) == (1, 0)
