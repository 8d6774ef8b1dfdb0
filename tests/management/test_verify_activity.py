"""The command that walks the chain: a sentence and 0, or the first bad row and 1."""

from collections.abc import Callable
from datetime import datetime
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction

from shopapp.actions import activity
from shopapp.actions.activity import Entry
from shopapp.actions.actor import Actor
from shopapp.models import Activity, ActivityHead, Approval, Person
from shopapp.triggers import remove_triggers
from tests.factories import CustomerFactory
from tests.factories.quotes import answered, sent_quote
from tests.processes import manage

pytestmark = pytest.mark.django_db

FAITHFUL = "Every customer's answer is as it was signed.\n"


@pytest.fixture
def head(ilse: Person, by: Callable[[Person], Actor]) -> str:
    """Four entries; the head after them."""
    customer = CustomerFactory()
    with transaction.atomic():
        activity.record([Entry(verb=verb, record=customer) for verb in ("a", "b", "c", "d")], by=by(ilse))
    row = ActivityHead.objects.get()
    return f"{row.seq}:{row.chain_hash}"


def said(**options: str) -> str:
    out = StringIO()
    call_command("verify_activity", stdout=out, **options)
    return out.getvalue().strip()


def cut_off_after(seq: int) -> None:
    """Remove the tail and set the head back, as somebody with the database alone could."""
    remove_triggers(connection)
    last = Activity.objects.get(seq=seq)
    Activity.objects.filter(seq__gt=seq)._raw_delete(using="default")
    ActivityHead.objects.update(seq=seq, chain_hash=last.chain_hash)


def test_whole_chain_is_said_with_its_head(head: str) -> None:
    assert said() == f"{FAITHFUL}The chain holds. Its head is {head}"


def test_empty_chain_holds() -> None:
    assert said() == f"{FAITHFUL}The chain holds. Its head is 0:{'0' * 64}"


def test_edited_row_is_named_t17(head: str) -> None:
    remove_triggers(connection)
    Activity.objects.filter(seq=2).update(verb="forged")

    with pytest.raises(CommandError) as caught:
        said()

    record = Activity.objects.get(seq=2).record
    assert str(caught.value) == f"Activity 2 (forged {record}) does not fit the link before it."
    assert caught.value.returncode == 1


def test_cut_off_tail_shows_against_a_noted_head_t17(head: str) -> None:
    cut_off_after(2)

    alone = said().rpartition(":")[0]
    with pytest.raises(CommandError) as caught:
        said(noted=head)

    assert alone == f"{FAITHFUL}The chain holds. Its head is 2"
    assert str(caught.value) == "The chain holds, but activity 4 is not in it as it was noted."


def test_noted_head_stays_good_as_the_chain_grows(
    head: str, ilse: Person, by: Callable[[Person], Actor]
) -> None:
    activity.record([Entry(verb="e", record=ilse)], by=by(ilse))

    assert said(noted=head) == f"{FAITHFUL}The chain holds. Its head is {activity.head_text()}"
    assert said(noted=f"0:{'0' * 64}") == said()


def test_rewritten_answer_is_named_t17(ilse: Person, now: datetime) -> None:
    approval = answered(sent_quote(ilse, at=now), ilse, at=now)
    remove_triggers(connection)
    Approval.objects.update(signed_name="Somebody Else")

    with pytest.raises(CommandError) as caught:
        said()

    assert str(caught.value) == f"The answer to {approval.revision} is not what was signed."


@pytest.mark.parametrize("noted", ["", "4", "4:abc", "x:" + "0" * 64, "-1:" + "0" * 64, "²:" + "0" * 64])
def test_noted_nonsense_is_refused_in_a_sentence(noted: str) -> None:
    with pytest.raises(CommandError, match="a number, a colon and 64 hexadecimal digits"):
        said(noted=noted)


@pytest.mark.django_db(transaction=True)
def test_process_ends_with_one_and_names_the_row_t17(head: str) -> None:
    good = manage("verify_activity")
    remove_triggers(connection)
    Activity.objects.filter(seq=3).update(actor_name="Somebody Else")

    bad = manage("verify_activity")

    record = Activity.objects.get(seq=3).record
    assert (good.returncode, good.stdout.strip()) == (0, f"{FAITHFUL}The chain holds. Its head is {head}")
    assert (bad.returncode, bad.stdout) == (1, "")
    assert bad.stderr == f"CommandError: Activity 3 (c {record}) does not fit the link before it.\n"
