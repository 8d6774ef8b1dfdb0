"""Cuts long lists into pages."""

from dataclasses import dataclass

ROWS_A_PAGE = 50


@dataclass(frozen=True, kw_only=True)
class Pager:
    """Which page of how many is shown; pages count from 1."""

    number: int
    last: int
    total: int

    @property
    def start(self) -> int:
        """Place of the page's first row in the whole list, counted from 0."""
        return (self.number - 1) * ROWS_A_PAGE

    @property
    def end(self) -> int:
        """Place after the page's last row."""
        return self.start + ROWS_A_PAGE

    @property
    def before(self) -> int | None:
        """Number of the page before this one, if there is one."""
        return self.number - 1 if self.number > 1 else None

    @property
    def after(self) -> int | None:
        """Number of the page after this one, if there is one."""
        return self.number + 1 if self.number < self.last else None


def pager_for(total: int, *, wanted: int) -> Pager:
    """The wanted page, or the nearest one there is; an empty list has one page."""
    last = max(1, -(-total // ROWS_A_PAGE))
    return Pager(number=min(max(wanted, 1), last), last=last, total=total)
