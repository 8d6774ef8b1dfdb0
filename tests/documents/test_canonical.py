"""The same content has the same bytes; what is inexact is refused."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopapp.documents.canonical import canonical, digest

contents = st.dictionaries(
    st.text(), st.recursive(st.none() | st.booleans() | st.integers() | st.text(), st.lists, max_leaves=8)
)


@given(contents)
def test_canonical_does_not_depend_on_key_order(content: dict[str, object]) -> None:
    turned = dict(reversed(list(content.items())))

    assert canonical(content) == canonical(turned)


def test_canonical_is_plain_sorted_utf8() -> None:
    assert (
        canonical({"b": ["é", 1, None, True], "a": {"z": "1.10"}})
        == '{"a":{"z":"1.10"},"b":["é",1,null,true]}'
    )


def test_digest_is_sha256_of_the_bytes() -> None:
    # FIPS 180-4 example: SHA-256 of "abc" (value from memory)
    assert digest("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.mark.parametrize("value", [1.5, Decimal("1.5"), {1: "a"}, [{"a": 2.0}], object()])
def test_canonical_refuses_what_is_inexact(value: object) -> None:
    with pytest.raises(TypeError):
        canonical({"a": value})
