"""A customer is put right at the desk."""

from collections.abc import Callable
from html import escape

import pytest
from django.test import Client

from shopapp.models import Activity, Customer, Person
from shopapp.web.customers.forms import CustomerForm
from tests.factories import CustomerFactory
from tests.web.shared.bad_values import tried_values
from tests.web.shared.hostile import NASTY_NAMES, row_counts, troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]
TYPED = {"version": "1", "name": "Anna Berg", "phone": "604 555 0142"}


@pytest.fixture
def anna(shop: object) -> Customer:
    return CustomerFactory(name="Anna Berg", phone="604 555 0100")


def address(row: Customer) -> str:
    return f"/customers/{row.pk}/edit/"


def test_edit_page_holds_what_is_saved(ilse: Person, signed_in: SignedIn, anna: Customer) -> None:
    before = row_counts()

    content = signed_in(ilse).get(address(anna)).content.decode()

    assert 'name="version" value="1"' in content
    assert (content.count('value="Anna Berg"'), content.count('value="604 555 0100"')) == (1, 1)
    # the form's own, and that of putting it aside
    assert content.count('name="once_key"') == 2
    assert row_counts() == before


def test_edit_saves_and_returns_to_the_customer(
    ilse: Person, signed_in: SignedIn, anna: Customer, key: Key
) -> None:
    response = signed_in(ilse).post(address(anna), TYPED | key())

    anna.refresh_from_db()
    assert (response.status_code, response.headers["Location"]) == (302, f"/customers/{anna.pk}/")
    assert (anna.phone, anna.version, Activity.objects.get().verb) == ("604 555 0142", 2, "edit customer")


def test_edit_sent_twice_counts_once(ilse: Person, signed_in: SignedIn, anna: Customer, key: Key) -> None:
    client, sent = signed_in(ilse), TYPED | key()

    answers = [client.post(address(anna), sent) for _ in range(2)]

    anna.refresh_from_db()
    assert [answer.headers["Location"] for answer in answers] == [f"/customers/{anna.pk}/"] * 2
    assert (anna.version, Activity.objects.count()) == (2, 1)


def test_edit_with_a_used_key_is_refused_t20(
    ilse: Person, signed_in: SignedIn, anna: Customer, key: Key
) -> None:
    client, sent = signed_in(ilse), TYPED | key()
    client.post(address(anna), sent)

    response = client.post(address(anna), sent | {"name": "Anna Holm", "version": "2"})

    assert response.status_code == 422
    assert Customer.objects.get().name == "Anna Berg"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"name": ""}, "Name is missing. Please fill it in."),
        ({"phone": "call the boat"}, "a telephone number with 5 digits or more"),
        ({"email": "anna at shop"}, "This is not an email address."),
        ({"is_tax_exempt": "on"}, "Write why this customer pays no tax, or take the tick away."),
        ({"name": "x" * 121}, "at most 120 characters (it has 121)"),
    ],
)
def test_odd_edit_says_why_and_keeps_the_rest(
    ilse: Person, signed_in: SignedIn, anna: Customer, key: Key, change: dict[str, str], sentence: str
) -> None:
    typed = TYPED | {"note": "Calls after six"} | change | key()

    response = signed_in(ilse).post(address(anna), typed)

    content = response.content.decode()
    assert response.status_code == 422
    assert sentence in content
    assert ("Calls after six" in content, 'class="field-error"' in content) == (True, True)
    assert Customer.objects.get().version == 1


def test_exemption_is_saved_with_its_reason(
    ilse: Person, signed_in: SignedIn, anna: Customer, key: Key
) -> None:
    exempt = {"is_tax_exempt": "on", "exemption_reason": "Band council", "exemption_number": "77"}

    signed_in(ilse).post(address(anna), TYPED | exempt | key())

    anna.refresh_from_db()
    assert (anna.is_tax_exempt, anna.exemption_reason, anna.exemption_number) == (True, "Band council", "77")


def test_second_desk_sees_both_versions_t22(
    ilse: Person, maren: Person, signed_in: SignedIn, anna: Customer, key: Key
) -> None:
    signed_in(maren).post(address(anna), TYPED | {"phone": "604 555 0177"} | key())
    second = signed_in(ilse)

    lost = second.post(address(anna), TYPED | {"name": "Anna <Holm>", "note": "Calls\nafter six"} | key())
    saved_between = Customer.objects.get()
    kept = second.post(
        address(anna), TYPED | {"name": "Anna <Holm>", "note": "Calls\nafter six", "version": "2"} | key()
    )

    content = lost.content.decode()
    assert lost.status_code == 409
    for piece in ("Maren Falk", "604 555 0177", "604 555 0142", "Anna Berg", "Anna &lt;Holm&gt;"):
        assert piece in content, piece
    assert ('name="version" value="2"' in content, "Calls\nafter six" in content) == (True, True)
    assert (saved_between.name, saved_between.phone) == ("Anna Berg", "604 555 0177")
    assert (kept.status_code, Customer.objects.get().name) == (302, "Anna <Holm>")


def test_forged_fields_are_ignored_t02(ilse: Person, signed_in: SignedIn, anna: Customer, key: Key) -> None:
    other = CustomerFactory(name="Bo Holm")
    forged = {
        "id": other.pk,
        "pk": other.pk,
        "cost": "1",
        "role": "owner",
        "is_owner": "on",
        "is_front_desk": "",
    }

    signed_in(ilse).post(address(anna), TYPED | forged | key())

    ilse.refresh_from_db()
    assert list(Customer.objects.order_by("pk").values_list("pk", "name", "version")) == [
        (anna.pk, "Anna Berg", 2),
        (other.pk, "Bo Holm", 1),
    ]
    assert (ilse.is_owner, ilse.is_front_desk) == (False, True)


@pytest.mark.parametrize("body", [{}, {"version": "0"}, {"version": "x"}, {"version": "9" * 30}])
def test_edit_without_its_version_is_refused(
    ilse: Person, signed_in: SignedIn, anna: Customer, key: Key, body: dict[str, str]
) -> None:
    typed = {name: value for name, value in TYPED.items() if name != "version"}

    response = signed_in(ilse).post(address(anna), typed | body | key())

    assert (response.status_code, Customer.objects.get().version) == (422, 1)


def test_edit_from_another_origin_is_refused_t14(ilse: Person, anna: Customer, key: Key) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(ilse)

    response = client.post(address(anna), TYPED | key(), headers={"origin": "https://evil.example"})

    assert (response.status_code, Customer.objects.get().version) == (403, 1)


def test_technician_gets_403_and_stranger_404(
    ilse: Person, tobiah: Person, signed_in: SignedIn, anna: Customer, key: Key
) -> None:
    refused = [signed_in(tobiah).post(f"/customers/{pk}/edit/", TYPED | key()) for pk in (anna.pk, 0)]
    missing = signed_in(ilse).post("/customers/0/edit/", TYPED | key())

    assert [answer.status_code for answer in [*refused, missing]] == [403, 403, 404]


def test_two_hundred_bad_values_are_answered(
    ilse: Person, signed_in: SignedIn, anna: Customer, key: Key
) -> None:
    def good() -> dict[str, str]:
        return TYPED | {"version": str(Customer.objects.get().version)} | key()

    fields = ("name", "phone", "email", "address", "exemption_number", "exemption_reason", "note", "version")
    found = troubles_with_bad_values(
        signed_in(ilse), address(anna), good=good, fields=fields, hidden=("version",)
    )

    assert found == []


def test_customer_form_survives_every_bad_value() -> None:
    for name in CustomerForm.base_fields:
        for value in tried_values():
            form = CustomerForm(TYPED | {name: value}, locale="en_CA")

            assert form.is_valid() or form.errors


@pytest.mark.parametrize("name", NASTY_NAMES)
def test_nasty_names_are_only_text_t13_t08(ilse: Person, signed_in: SignedIn, name: str) -> None:
    row = CustomerFactory(name=name, address=name, note=name)

    content = signed_in(ilse).get(address(row)).content.decode()

    assert (name in content, escape(name) in content) == (False, True)
