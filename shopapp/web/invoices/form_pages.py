"""The page around a single form of the invoices room."""

from dataclasses import dataclass

from shopapp.queries.deposits import DepositPage
from shopapp.queries.versions import Conflict


@dataclass(frozen=True, kw_only=True)
class FormPage:
    """Title, what it is about, what the button says, the way back; ``caution`` when it is final."""

    title: str
    lede: str
    button: str
    back_url: str
    back_word: str
    caution: str = ""
    conflict: Conflict | None = None
    money: DepositPage | None = None
