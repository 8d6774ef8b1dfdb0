"""What an edit changes, and how the chain tells it."""

from shopapp.actions.changes import changed, told
from shopapp.models import Customer


def test_changed_keeps_only_what_differs() -> None:
    row = Customer(name="Anna Berg", phone="604 555 0142", email="")

    changes = changed(row, {"name": "Anna Berg", "phone": "604 555 0199", "email": ""})

    assert changes == {"phone": "604 555 0199"}


def test_told_shows_before_and_after() -> None:
    row = Customer(name="Anna Berg", phone="604 555 0142", email="")

    facts = told(row, {"phone": "604 555 0199", "email": "anna@shop.example", "is_tax_exempt": True})

    assert facts == {
        "phone": "604 555 0142 → 604 555 0199",
        "email": "– → anna@shop.example",
        "is_tax_exempt": "False → True",
    }
