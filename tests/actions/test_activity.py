"""The chain of who did what: it grows link by link, and a hand that reached around it is named."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection, models, transaction

from shopapp.actions import activity
from shopapp.actions.activity import Entry, first_bad_link
from shopapp.actions.actor import Actor, Scope
from shopapp.models import Activity, ActivityHead, Person
from shopapp.triggers import remove_triggers
from tests.factories import CustomerFactory, WorkOrderFactory
from tests.side_by_side import outcomes

pytestmark = pytest.mark.django_db

HEAD = "shopapp_activityhead"
TABLE = "shopapp_activity"
# what an SQL hand might write instead of what is there
FORGED: dict[type[models.Field], object] = {
    models.PositiveBigIntegerField: 77,
    models.DateTimeField: datetime(2020, 1, 1, tzinfo=UTC),
    models.CharField: "forged",
    models.TextField: '{"amount": "0.01"}',
}


@pytest.fixture
def five_links(ilse: Person, by: Callable[[Person], Actor]) -> list[Activity]:
    """Five things that Ilse did to customers, the third with a work order."""
    for number in range(1, 6):
        work_order = WorkOrderFactory() if number == 3 else None
        entry = Entry(
            verb="open", record=CustomerFactory(), facts={"name": f"Nº {number}"}, work_order=work_order
        )
        activity.record([entry], by=by(ilse))
    return list(Activity.objects.order_by("seq"))


def by_sql(statement: str, *values: object) -> None:
    """Write around the app and around the triggers, as somebody with the database file could."""
    remove_triggers(connection)
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def test_record_links_each_row_to_the_last(five_links: list[Activity]) -> None:
    head = ActivityHead.objects.get()
    hashes = {row.chain_hash for row in five_links}

    assert [row.seq for row in five_links] == [1, 2, 3, 4, 5]
    assert (head.seq, head.chain_hash) == (5, five_links[-1].chain_hash)
    assert len(hashes) == 5
    assert first_bad_link() is None


def test_record_appends_several_entries_in_order(ilse: Person, by: Callable[[Person], Actor]) -> None:
    customer = CustomerFactory()

    activity.record([Entry(verb=verb, record=customer) for verb in ("open", "arrive", "hold")], by=by(ilse))

    assert list(Activity.objects.order_by("seq").values_list("seq", "verb")) == [
        (1, "open"),
        (2, "arrive"),
        (3, "hold"),
    ]
    assert first_bad_link() is None


def test_record_keeps_who_and_what(ilse: Person, by: Callable[[Person], Actor], now: datetime) -> None:
    customer = CustomerFactory()

    activity.record([Entry(verb="open", record=customer, facts={"name": "Åse"})], by=by(ilse))

    row = Activity.objects.get()
    assert (row.actor, row.actor_name, row.scope) == (f"person:{ilse.pk}", "Ilse Brandt", "desk")
    assert (row.verb, row.record, row.happened_at) == ("open", f"customer:{customer.pk}", now)
    assert row.payload == '{"name": "Åse"}'


def test_record_salts_equal_facts_differently(five_links: list[Activity]) -> None:
    salts = {row.salt for row in five_links}

    assert len(salts) == 5


@pytest.mark.parametrize(
    "name", [field.attname for field in Activity._meta.concrete_fields if field.attname not in ("id", "seq")]
)
def test_first_bad_link_names_an_edited_row_t17(five_links: list[Activity], name: str) -> None:
    field = next(field for field in Activity._meta.concrete_fields if field.attname == name)
    forged = WorkOrderFactory().pk if name == "work_order_id" else FORGED[type(field)]

    by_sql(f"UPDATE {TABLE} SET {name} = %s WHERE seq = 3", forged)

    fault = first_bad_link()
    assert fault is not None
    assert fault.partition(" (")[0] == "Activity 3"


@pytest.mark.parametrize("name", ["salt", "payload"])
def test_first_bad_link_names_a_half_erased_row(five_links: list[Activity], name: str) -> None:
    by_sql(f"UPDATE {TABLE} SET {name} = NULL WHERE seq = 3")

    assert first_bad_link() == f"Activity 3 (open {five_links[2].record}) is only half erased."


def test_first_bad_link_names_facts_forged_beside_an_erased_salt_t17(five_links: list[Activity]) -> None:
    by_sql(f"UPDATE {TABLE} SET salt = NULL, payload = '{{}}' WHERE seq = 3")

    assert first_bad_link() == f"Activity 3 (open {five_links[2].record}) is only half erased."


def test_first_bad_link_names_a_renumbered_row_t17(five_links: list[Activity]) -> None:
    by_sql(f"UPDATE {TABLE} SET seq = 77 WHERE seq = 3")

    assert first_bad_link() == "Activity 3 is missing: the next row there is has number 4."


def test_first_bad_link_names_a_deleted_row_t17(five_links: list[Activity]) -> None:
    by_sql(f"DELETE FROM {TABLE} WHERE seq = 1")

    assert first_bad_link() == "Activity 1 is missing: the next row there is has number 2."


def test_first_bad_link_names_swapped_rows_t17(five_links: list[Activity]) -> None:
    for old, new in ((2, 99), (3, 2), (99, 3)):
        by_sql(f"UPDATE {TABLE} SET seq = %s WHERE seq = %s", new, old)

    assert first_bad_link() == f"Activity 2 (open {five_links[2].record}) does not fit the link before it."


def test_first_bad_link_names_a_cut_off_tail_t17(five_links: list[Activity]) -> None:
    by_sql(f"DELETE FROM {TABLE} WHERE seq > 3")

    assert first_bad_link() == "The chain ends at activity 3, but its head says 5."


def test_first_bad_link_names_a_tail_beyond_the_head_t17(five_links: list[Activity]) -> None:
    by_sql(f"UPDATE {HEAD} SET seq = 3, chain_hash = %s", five_links[2].chain_hash)

    assert first_bad_link() == "The chain ends at activity 5, but its head says 3."


def test_first_bad_link_names_an_edited_head_t17(five_links: list[Activity]) -> None:
    by_sql(f"UPDATE {HEAD} SET chain_hash = %s", "f" * 64)

    assert first_bad_link() == "The chain ends at activity 5, but its head holds another hash."


def test_first_bad_link_names_a_missing_head_t17(five_links: list[Activity]) -> None:
    by_sql(f"DELETE FROM {HEAD}")

    assert first_bad_link() == "The chain ends at activity 5, but it has no head."


def test_first_bad_link_names_a_row_slipped_in_t17(five_links: list[Activity]) -> None:
    row = five_links[-1]
    row.pk, row.seq = None, 6
    row.chain_hash = activity.link_hash(row, "0" * 64)

    row.save(force_insert=True)

    assert first_bad_link() == f"Activity 6 (open {row.record}) does not fit the link before it."


def test_first_bad_link_finds_nothing_in_an_empty_shop() -> None:
    assert first_bad_link() is None


def test_erased_facts_leave_the_chain_whole(five_links: list[Activity]) -> None:
    erased = Activity.objects.filter(seq=3).update(payload=None, salt=None)

    assert erased == 1
    assert first_bad_link() is None


def test_erased_row_still_shows_a_forged_digest(five_links: list[Activity]) -> None:
    Activity.objects.filter(seq=3).update(payload=None, salt=None)

    by_sql(f"UPDATE {TABLE} SET payload_sha256 = %s WHERE seq = 3", "a" * 64)

    assert first_bad_link() == f"Activity 3 (open {five_links[2].record}) does not fit the link before it."


def test_chain_written_with_another_key_fails(five_links: list[Activity], settings: object) -> None:
    settings.CHAIN_KEY = "somebody else's key, forty characters and more"

    assert first_bad_link() == f"Activity 1 (open {five_links[0].record}) does not fit the link before it."


def test_chain_forged_without_the_key_fails(five_links: list[Activity], settings: object) -> None:
    own_key, settings.CHAIN_KEY = settings.CHAIN_KEY, "a guess"
    remove_triggers(connection)
    previous = activity.FIRST_LINK
    for row in five_links:
        row.chain_hash = previous = activity.link_hash(row, previous)
        row.save()
    ActivityHead.objects.update(chain_hash=previous)
    settings.CHAIN_KEY = own_key

    assert first_bad_link() == f"Activity 1 (open {five_links[0].record}) does not fit the link before it."


def test_chain_is_walked_beyond_one_batch(ilse: Person, by: Callable[[Person], Actor]) -> None:
    customer = CustomerFactory()
    activity.record([Entry(verb="open", record=customer) for _ in range(1_100)], by=by(ilse))

    by_sql(f"UPDATE {TABLE} SET verb = 'forged' WHERE seq = 1050")

    assert (
        first_bad_link()
        == f"Activity 1050 (forged {activity.reference(customer)}) does not fit the link before it."
    )


@pytest.mark.django_db(transaction=True)
def test_chain_being_written_raises_no_alarm(ilse: Person, by: Callable[[Person], Actor]) -> None:
    """Rows and head are read one after the other, while people go on writing."""

    def write() -> None:
        for _ in range(40):
            with transaction.atomic():
                activity.record([Entry(verb="open", record=ilse)], by=by(ilse))

    def verify() -> set[str | None]:
        return {first_bad_link() for _ in range(40)}

    ends = outcomes([write, verify])

    assert ends == [None, {None}]


def test_clock_set_back_continues_and_warns_t28(ilse: Person, now: datetime) -> None:
    customer = CustomerFactory()
    moments = [now, now - timedelta(days=1), now + timedelta(minutes=1)]

    for at in moments:
        actor = Actor(scope=Scope.DESK, person=ilse, at=at)
        activity.record([Entry(verb="open", record=customer)], by=actor)

    rows = Activity.objects.order_by("seq").values_list("seq", "happened_at", "payload")
    assert list(rows) == [
        (1, moments[0], "{}"),
        (2, moments[1], '{"clock_went_back": true}'),
        (3, moments[2], "{}"),
    ]
    assert first_bad_link() is None


@pytest.mark.parametrize(("seconds", "facts"), [(59, "{}"), (60, "{}"), (61, '{"clock_went_back": true}')])
def test_wait_for_others_is_no_clock_set_back_t28(
    ilse: Person, now: datetime, seconds: int, facts: str
) -> None:
    """Two people act at once: the second noted its time, waited for the first, and is logged after it."""
    customer = CustomerFactory()
    for at in (now, now - timedelta(seconds=seconds)):
        actor = Actor(scope=Scope.DESK, person=ilse, at=at)
        activity.record([Entry(verb="open", record=customer)], by=actor)

    assert Activity.objects.get(seq=2).payload == facts


def test_latest_moment_is_the_newest_rows(five_links: list[Activity], now: datetime) -> None:
    assert activity.latest_moment() == now
