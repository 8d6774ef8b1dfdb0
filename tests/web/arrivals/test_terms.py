"""Terms are changed until they are signed; then new ones begin beside them."""

from collections.abc import Callable

from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from shopapp.models import Intake, Person, Shop, WorkOrder
from tests.factories.intakes import signed
from tests.web.pages import fields_of
from tests.web.shared.hostile import troubles_with_bad_values

SignedIn = Callable[[Person], Client]
Key = Callable[[], dict[str, str]]


def address(visit: WorkOrder) -> str:
    return f"/arrivals/{visit.pk}/terms/"


def ticked(page: HttpResponse) -> list[bool]:
    """Whether run, move and launch are ticked."""
    names = ("may_run", "may_move", "may_launch")
    return [f'id="id_{name}" checked' in page.content.decode() for name in names]


def test_form_begins_with_what_is_written(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake
) -> None:
    page = signed_in(ilse).get(address(visit))

    fields = dict(fields_of(page))
    assert (fields["diagnosis_fee"], fields["spending_limit"], fields["version"]) == ("80", "250", "1")
    assert ticked(page) == [True, False, False]


def test_form_of_a_visit_without_terms_begins_as_usual(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder
) -> None:
    Shop.objects.update(diagnosis_fee_minor=9_500)

    page = signed_in(ilse).get(address(visit))

    fields = dict(fields_of(page))
    assert (fields["diagnosis_fee"], fields["version"], ticked(page)) == ("95", "0", [True, True, False])


def test_terms_are_saved(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake, key: Key
) -> None:
    typed = {"version": "1", "diagnosis_fee": "95.50", "spending_limit": "1,300", "may_launch": "on"}

    response = signed_in(ilse).post(address(visit), typed | key())

    row = Intake.objects.get()
    assert response["Location"] == f"/arrivals/{visit.pk}/taken-in/"
    assert (row.diagnosis_fee_minor, row.spending_limit_minor, row.may_run, row.may_launch) == (
        9_550,
        130_000,
        False,
        True,
    )


def test_second_desk_sees_both_t22(
    ilse: Person, maren: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake, key: Key
) -> None:
    typed = {"version": "1", "diagnosis_fee": "10", "spending_limit": "20"}
    signed_in(maren).post(address(visit), typed | key())

    response = signed_in(ilse).post(address(visit), typed | {"spending_limit": "30"} | key())

    content = response.content.decode()
    assert (response.status_code, Intake.objects.get().spending_limit_minor) == (409, 2_000)
    assert ("Maren Falk" in content, 'value="30"' in content, 'name="version" value="2"' in content) == (
        True,
        True,
        True,
    )


def test_new_terms_stand_beside_signed_ones(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake, key: Key
) -> None:
    signed(terms, ilse, at=timezone.now())
    client = signed_in(ilse)

    page = client.get(address(visit))
    client.post(address(visit), {"version": "0", "spending_limit": "400"} | key())

    assert "those stay in force until these are signed as well" in page.content.decode()
    rows = Intake.objects.order_by("pk").values_list("spending_limit_minor", "signed_name")
    assert list(rows) == [(25_000, "Anna Berg"), (40_000, "")]


def test_bad_values_are_answered(
    ilse: Person, signed_in: SignedIn, visit: WorkOrder, terms: Intake, key: Key
) -> None:
    found = troubles_with_bad_values(
        signed_in(ilse),
        address(visit),
        good=lambda: {"version": str(Intake.objects.get().version), "diagnosis_fee": "1"} | key(),
        fields=["diagnosis_fee", "spending_limit", "version", "may_run"],
        hidden=["version"],
    )

    assert found == []
