"""Which form writes which kind of value."""

from collections.abc import Mapping
from typing import get_args

from shopapp.queries.spec_rows import ValueKind
from shopapp.web.spec_book.forms_tightening import TighteningForm
from shopapp.web.spec_book.forms_values import (
    BulletinForm,
    CapacityForm,
    FaultForm,
    IntervalForm,
    LimitForm,
    ValueForm,
)

FORMS: Mapping[ValueKind, type[ValueForm]] = {
    "capacity": CapacityForm,
    "limit": LimitForm,
    "tightening": TighteningForm,
    "interval": IntervalForm,
    "fault": FaultForm,
    "bulletin": BulletinForm,
}


def kind_of(asked: str) -> ValueKind:
    """The kind that an address or a form asks for; nonsense asks for a capacity."""
    return next((kind for kind in get_args(ValueKind) if kind == asked), "capacity")
