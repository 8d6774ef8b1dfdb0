"""Numbers of documents: one after the other, none twice, none left out, whoever asks at the same time."""

import pytest
from django.db import transaction

from shopapp.actions.numbering import SERIES, take_number
from shopapp.models import NumberSeries
from tests.side_by_side import Deed, outcomes


class PowerCut(Exception):
    """Ends a transaction before its commit."""


def taken(code: str) -> str:
    with transaction.atomic():
        return take_number(code)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("code", "numbers"),
    [
        ("work_order", ["W-00001", "W-00002", "W-00003"]),
        ("quote", ["Q-00001", "Q-00002", "Q-00003"]),
        ("invoice", ["INV-00001", "INV-00002", "INV-00003"]),
    ],
)
def test_take_number_counts_in_each_series(code: str, numbers: list[str]) -> None:
    assert [taken(code) for _ in numbers] == numbers


@pytest.mark.django_db
def test_take_number_keeps_the_series_apart() -> None:
    numbers = [taken(code) for code in ("invoice", "quote", "invoice", "quote")]

    assert numbers == ["INV-00001", "Q-00001", "INV-00002", "Q-00002"]


@pytest.mark.django_db
def test_take_number_goes_on_after_its_digits_end() -> None:
    NumberSeries.objects.create(code="invoice", prefix="INV", digits=2, next_value=99)

    assert [taken("invoice"), taken("invoice")] == ["INV-99", "INV-100"]


@pytest.mark.django_db
def test_take_number_gives_back_what_failed() -> None:
    def cut_off() -> None:
        with transaction.atomic():
            take_number("invoice")
            raise PowerCut

    with pytest.raises(PowerCut):
        cut_off()

    assert taken("invoice") == "INV-00001"


@pytest.mark.django_db
def test_take_number_refuses_an_unknown_series() -> None:
    with pytest.raises(KeyError, match="fathom"), transaction.atomic():
        take_number("fathom")

    assert NumberSeries.objects.count() == 0


@pytest.mark.django_db(transaction=True)
def test_take_number_refuses_outside_a_transaction() -> None:
    with pytest.raises(transaction.TransactionManagementError, match="transaction"):
        take_number("invoice")

    assert NumberSeries.objects.count() == 0


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("code", sorted(SERIES))
def test_first_numbers_taken_at_once_differ(code: str) -> None:
    prefix = SERIES[code]

    numbers = outcomes([lambda: taken(code)] * 4)

    assert sorted(numbers) == [f"{prefix}-{value:05d}" for value in range(1, 5)]


@pytest.mark.django_db(transaction=True)
def test_numbers_taken_at_once_have_no_gap() -> None:
    """Six people take ten numbers each, and every third attempt fails after it took one."""
    kept: list[str] = []

    def take_ten(turn: int) -> Deed:
        def deed() -> None:
            for attempt in range(10):
                try:
                    with transaction.atomic():
                        number = take_number("invoice")
                        if (turn + attempt) % 3 == 0:
                            raise PowerCut
                except PowerCut:
                    continue
                kept.append(number)

        return deed

    ends = outcomes([take_ten(turn) for turn in range(6)])

    assert ends == [None] * 6
    assert sorted(kept) == [f"INV-{value:05d}" for value in range(1, 41)]
