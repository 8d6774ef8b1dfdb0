"""A part is logged in two taps and a number."""

from collections.abc import Callable
from html import unescape

import pytest
from django.test import Client

from shopapp.models import Activity, Part, PartUsed, Person, Stage
from tests.factories.jobs import agreed_job, job_at, plan_line
from tests.web.shared.hostile import NASTY_NAMES, row_counts, troubles_with_bad_values
from tests.web.work_orders.posts import answer_to_get, looks_missing, sent_twice

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
GASKET = {"line": "", "description": "Plug gasket", "number": "SR-0031", "quantity": "2", "unit": "each"}


def address(pk: int) -> str:
    return f"/work-orders/job/{pk}/use-part/"


def test_part_sent_twice_is_logged_once(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    answers = sent_twice(signed_in(tobiah), address(job.pk), GASKET | key())

    row = PartUsed.objects.get()
    assert answers == [(302, f"/work-orders/job/{job.pk}/bench/")] * 2
    assert (row.description, row.quantity_milli, row.plan_line, Activity.objects.count()) == (
        "Plug gasket",
        2_000,
        None,
        1,
    )


def test_planned_part_takes_a_pick_and_a_number(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    line = plan_line(job, "part")

    signed_in(tobiah).post(address(job.pk), {"line": line.pk, "quantity": "2", "unit": "each"} | key())

    row = PartUsed.objects.get()
    assert (row.plan_line, row.description, row.unit_price_e4) == (line, "Shaft seal", 184_000)


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        (
            {"description": ""},
            "description",
            "the name of the part, its number on the list, or its line",
        ),
        ({"quantity": "two"}, "quantity", "a number from 0.001 to 10,000 with at most three decimals"),
        ({"quantity": "0"}, "quantity", "a number from 0.001 to 10,000 with at most three decimals"),
        ({"quantity": ""}, "quantity", "How many is missing. Please fill it in."),
    ],
)
def test_part_that_is_not_right_keeps_the_page(
    *,
    tobiah: Person,
    signed_in: SignedIn,
    key: Key,
    changes: dict[str, str],
    field: str,
    sentence: str,
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), GASKET | changes | key())

    content = response.content.decode()
    assert (response.status_code, PartUsed.objects.count()) == (422, 0)
    assert (f'id="part_{field}_error"' in content, sentence in content) == (True, True)
    assert 'value="SR-0031"' in content


def test_part_needs_a_name_or_a_number(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), GASKET | {"description": "", "number": ""} | key())

    assert (response.status_code, PartUsed.objects.count()) == (422, 0)
    assert "Say which part it was, or pick it from the plan." in response.content.decode()


def test_listed_number_is_enough(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    Part.objects.create(number="SR-0031", description="Plug gasket", unit_price_e4=25_000)

    signed_in(tobiah).post(address(job.pk), GASKET | {"description": "", "condition": "used"} | key())

    row = PartUsed.objects.get()
    assert (row.description, row.condition, row.unit_price_e4) == ("Plug gasket", "used", 25_000)


def test_extra_part_is_flagged_at_once(tobiah: Person, ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    told = [
        signed_in(person).post(address(job.pk), GASKET | {"unit_cost": "10"} | key(), follow=True)
        for person in (tobiah, ilse)
    ]

    pages = [unescape(response.content.decode()) for response in told]
    assert "This goes beyond what the customer agreed. Tell the desk." in pages[0]
    # two at 10.00 and 60 % are 32.00; what was agreed is 348.30
    assert "This goes beyond what the customer agreed: $32.00 above $348.30. It is held back." in pages[1]
    assert ("32.00" in pages[0], "348.30" in pages[0]) == (False, False)


def test_part_is_planned_or_not_but_not_both(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), GASKET | {"line": plan_line(job, "part").pk} | key())

    assert (response.status_code, PartUsed.objects.count()) == (422, 0)
    assert "You wrote a part and picked one from the plan." in response.content.decode()


def test_line_of_another_job_cannot_be_picked(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job, other = (agreed_job(Stage.IN_HAND, technician=tobiah) for _ in range(2))

    response = signed_in(tobiah).post(
        address(job.pk), {"line": plan_line(other, "part").pk, "quantity": "1", "unit": "each"} | key()
    )

    assert (response.status_code, PartUsed.objects.count()) == (422, 0)


@pytest.mark.parametrize("who", ["ilse", "tobiah"])
def test_part_ignores_hidden_fields_t02(
    *, request: pytest.FixtureRequest, signed_in: SignedIn, key: Key, tobiah: Person, who: str
) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)
    person = request.getfixturevalue(who)
    hidden = {"cost": "9", "unit_cost_e4": "9", "unit_price": "9", "unit_price_e4": "9", "role": "owner"}

    signed_in(person).post(address(job.pk), GASKET | hidden | key())

    row = PartUsed.objects.get()
    person.refresh_from_db()
    assert (row.unit_cost_e4, row.unit_price_e4, person.is_owner) == (None, None, False)


def test_cost_posted_by_a_technician_is_ignored_t02(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    signed_in(tobiah).post(address(job.pk), GASKET | {"unit_cost": "9.00"} | key())

    assert PartUsed.objects.get().unit_cost_e4 is None


def test_cost_entered_at_the_desk_prices_the_part(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND)

    signed_in(ilse).post(address(job.pk), GASKET | {"unit_cost": "3.20"} | key())

    # 3.20 and 60 % on top, the test shop's lower band
    row = PartUsed.objects.get()
    assert (row.unit_cost_e4, row.unit_price_e4) == (32_000, 51_200)


def test_part_on_a_ready_job_is_refused(tobiah: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.READY, technician=tobiah)

    response = signed_in(tobiah).post(address(job.pk), GASKET | key())

    assert (response.status_code, PartUsed.objects.count()) == (409, 0)
    sentence = "Parts, hours and fluids are logged from diagnosis to test; this job is at “Ready”."
    assert sentence in response.content.decode()


def test_part_by_get_does_nothing(tobiah: Person, signed_in: SignedIn) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    assert answer_to_get(signed_in(tobiah), address(job.pk)) == (405, True)


def test_part_of_another_is_missing_t01(tobiah: Person, wen: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND, technician=tobiah)

    answer = looks_missing(signed_in(wen), address(job.pk), pk=job.pk, data=GASKET | key())

    assert answer == (404, True, True)


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_part_name_is_inert_when_refused_t13(
    tobiah: Person, signed_in: SignedIn, key: Key, name: str
) -> None:
    job = job_at(Stage.IN_HAND, technician=tobiah)

    response = signed_in(tobiah).post(
        address(job.pk), GASKET | {"description": name, "quantity": name} | key()
    )

    assert (response.status_code, "<script>alert" in response.content.decode()) == (422, False)


def test_part_withstands_odd_values(ilse: Person, signed_in: SignedIn, key: Key) -> None:
    job = agreed_job(Stage.IN_HAND)

    def good() -> dict[str, object]:
        # what was accepted goes, so that the page stays short
        PartUsed.objects.all().delete()
        return GASKET | key()

    before = row_counts()

    found = troubles_with_bad_values(
        signed_in(ilse),
        address(job.pk),
        good=good,
        fields=["description", "number", "quantity", "unit", "unit_cost", "line"],
        hidden=["unit", "line"],
    )

    changed = {name for name, count in row_counts().items() if count != before[name]}
    assert (found, changed - {"PartUsed"}) == ([], {"Activity", "ActivityHead", "RequestKey"})
