"""Sign-ins are ended by who may, and nothing is told where nothing ended."""

from datetime import UTC, datetime

import pytest

from shopapp.actions.actor import Actor, Scope
from shopapp.actions.refusals import NotAllowed
from shopapp.actions.sessions import Ended, end_all, end_session, end_sessions
from shopapp.models import Activity, BrowserSession, Device, Person
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


def test_all_sign_ins_and_tablets_end_at_once(ilse: Person, wen: Person) -> None:
    for person in (ilse, wen):
        make(BrowserSession, person=person)
    make(Device, person=wen, stay_sha256="5" * 64, opened_at=AT)
    by = Actor(scope=Scope.SYSTEM, at=AT)

    first, second = end_all(by=by), end_all(by=by)

    assert (first, second) == (Ended(sessions=2, tablets=1), Ended(sessions=0, tablets=0))
    assert not BrowserSession.objects.exists()
    assert (Device.objects.get().ended_at, Device.objects.get().person) == (AT, None)
    assert Activity.objects.get(verb="end all sign-ins").payload == '{"sessions": 2, "tablets": 1}'


def test_nobody_ends_all_sign_ins_by_a_page(maren: Person) -> None:
    row = make(BrowserSession, person=maren)

    with pytest.raises(NotAllowed, match="Only a command"):
        end_all(by=actor(maren))

    assert BrowserSession.objects.get() == row
