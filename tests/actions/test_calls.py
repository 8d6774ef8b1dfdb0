"""Call slips are written, put right, ticked off and brought back at the desk."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from shopapp.actions.activity import first_bad_link
from shopapp.actions.actor import Actor
from shopapp.actions.calls import CallInput, close_slip, edit_slip, reopen_slip, write_slip
from shopapp.actions.refusals import NotAllowed, Refused, Stale
from shopapp.calc.errors import BadInput
from shopapp.models import Activity, CallSlip, Person
from tests.conftest import NOW
from tests.factories import CustomerFactory, WorkOrderFactory

pytestmark = pytest.mark.django_db
By = Callable[[Person], Actor]

RANG = CallInput(name="Aud Nilsen", phone="604 555 0190", about="When is the boat ready?")


def verbs() -> list[tuple[str, str]]:
    return list(Activity.objects.order_by("seq").values_list("verb", "record"))


def test_slip_keeps_who_rang_and_about_what(ilse: Person, tobiah: Person, by: By) -> None:
    order = WorkOrderFactory()
    data = replace(RANG, call_by_at=NOW + timedelta(hours=2), for_person=tobiah.pk, work_order=order.pk)

    slip = write_slip(data, by=by(ilse))

    slip.refresh_from_db()
    assert (slip.name, slip.phone, slip.about, slip.call_by_at) == (
        "Aud Nilsen",
        "604 555 0190",
        "When is the boat ready?",
        NOW + timedelta(hours=2),
    )
    # the customer follows from the visit
    assert (slip.for_person, slip.work_order, slip.customer) == (tobiah, order, order.customer)
    assert (slip.taken_by, slip.taken_at, slip.done_at, slip.version) == (ilse, NOW, None, 1)


def test_chain_tells_that_there_was_a_call_and_not_what_was_said(ilse: Person, by: By) -> None:
    slip = write_slip(RANG, by=by(ilse))

    assert verbs() == [("write call slip", f"callslip:{slip.pk}")]
    assert Activity.objects.get().payload == "{}"
    assert first_bad_link() is None


def test_slip_of_somebody_unknown_needs_no_visit(ilse: Person, by: By) -> None:
    slip = write_slip(RANG, by=by(ilse))

    assert (slip.customer_id, slip.work_order_id, slip.for_person_id) == (None, None, None)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": " "}, "name"),
        ({"about": ""}, "about"),
        ({"for_person": 999_999}, "for_person"),
        ({"customer": 999_999}, "customer"),
        ({"work_order": 999_999}, "work_order"),
    ],
)
def test_slip_lacking_something_is_refused(
    ilse: Person, by: By, change: dict[str, object], field: str
) -> None:
    slip = write_slip(RANG, by=by(ilse))

    with pytest.raises(BadInput) as writing:
        write_slip(replace(RANG, **change), by=by(ilse))
    with pytest.raises(BadInput) as editing:
        edit_slip(slip.pk, replace(RANG, **change), version=1, by=by(ilse))

    assert (writing.value.field, editing.value.field) == (field, field)
    assert CallSlip.objects.count() == 1


def test_heap_of_open_slips_has_an_end(ilse: Person, by: By, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shopapp.actions.calls.MOST_OPEN", 1)
    slip = write_slip(RANG, by=by(ilse))

    with pytest.raises(Refused, match="There are 1 open call slips"):
        write_slip(RANG, by=by(ilse))
    close_slip(slip.pk, "", by=by(ilse))
    write_slip(RANG, by=by(ilse))

    assert CallSlip.objects.count() == 2


def test_edit_writes_what_changed_once(ilse: Person, by: By) -> None:
    anna = CustomerFactory()
    slip = write_slip(replace(RANG, customer=anna.pk), by=by(ilse))
    wanted = replace(RANG, customer=anna.pk, about="Wants the quote by post")

    edit_slip(slip.pk, wanted, version=1, by=by(ilse))
    edit_slip(slip.pk, wanted, version=2, by=by(ilse))

    slip.refresh_from_db()
    assert (slip.about, slip.customer, slip.version) == ("Wants the quote by post", anna, 2)
    assert [verb for verb, _ in verbs()] == ["write call slip", "edit call slip"]


def test_second_of_two_editors_is_told(ilse: Person, by: By) -> None:
    slip = write_slip(RANG, by=by(ilse))
    edit_slip(slip.pk, replace(RANG, about="First"), version=1, by=by(ilse))

    with pytest.raises(Stale) as stale:
        edit_slip(slip.pk, replace(RANG, about="Second"), version=1, by=by(ilse))

    assert stale.value.record.about == "First"


def test_done_slip_is_ticked_off_once(ilse: Person, maren: Person, by: By) -> None:
    slip = write_slip(RANG, by=by(ilse))

    close_slip(slip.pk, " Comes at four ", by=by(ilse))
    close_slip(slip.pk, "Something else", by=by(maren))

    slip.refresh_from_db()
    assert (slip.answer, slip.done_by, slip.done_at, slip.version) == ("Comes at four", ilse, NOW, 2)
    assert [verb for verb, _ in verbs()] == ["write call slip", "close call slip"]


def test_slip_comes_back_with_what_was_answered(ilse: Person, by: By) -> None:
    slip = write_slip(RANG, by=by(ilse))
    close_slip(slip.pk, "Comes at four", by=by(ilse))

    reopen_slip(slip.pk, by=by(ilse))
    reopen_slip(slip.pk, by=by(ilse))

    slip.refresh_from_db()
    assert (slip.done_at, slip.done_by, slip.answer, slip.version) == (None, None, "Comes at four", 3)
    assert [verb for verb, _ in verbs()] == ["write call slip", "close call slip", "reopen call slip"]


def test_done_slip_is_not_edited(ilse: Person, by: By) -> None:
    slip = write_slip(RANG, by=by(ilse))
    close_slip(slip.pk, "", by=by(ilse))

    with pytest.raises(Refused, match="This call was made already"):
        edit_slip(slip.pk, RANG, version=2, by=by(ilse))


def test_only_the_desk_has_call_slips(ilse: Person, tobiah: Person, by: By) -> None:
    slip = write_slip(RANG, by=by(ilse))
    deeds = (
        lambda: write_slip(RANG, by=by(tobiah)),
        lambda: edit_slip(slip.pk, RANG, version=1, by=by(tobiah)),
        lambda: close_slip(slip.pk, "", by=by(tobiah)),
        lambda: reopen_slip(slip.pk, by=by(tobiah)),
    )

    for deed in deeds:
        with pytest.raises(NotAllowed):
            deed()

    assert [verb for verb, _ in verbs()] == ["write call slip"]


def test_missing_slip_is_refused(ilse: Person, by: By) -> None:
    with pytest.raises(Refused, match="There is no such call slip"):
        close_slip(999_999, "", by=by(ilse))
