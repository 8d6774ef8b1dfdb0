"""Which page of a list an address asks for."""

import pytest
from django.test import RequestFactory

from shopapp.web.shared.paging import page_number


@pytest.mark.parametrize(
    ("asked", "number"),
    [
        ({}, 1),
        ({"page": "1"}, 1),
        ({"page": "7"}, 7),
        ({"page": "999999999"}, 999_999_999),
        ({"page": "9999999999"}, 1),
        ({"page": "-3"}, 1),
        ({"page": "two"}, 1),
        ({"page": "٣"}, 1),
        ({"page": ""}, 1),
    ],
)
def test_page_number_of_nonsense_is_one(asked: dict[str, str], number: int) -> None:
    request = RequestFactory().get("/customers/", asked)

    assert page_number(request) == number
