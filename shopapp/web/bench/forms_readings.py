"""The form of a reading at the bench: the desk's own, in the dress of an entry."""

from typing import ClassVar

from django import forms

from shopapp.models import ReadingKind
from shopapp.web.bench.forms import EntryForm
from shopapp.web.shared.reading_forms import ReadingForm


class ReadingEntryForm(ReadingForm, EntryForm):
    """A reading of one kind; the tablet sends the kind along as ``reading``."""

    kind: ClassVar[str] = "reading"

    def for_each_kind(self) -> list["ReadingEntryForm"]:
        """An empty form of each kind of reading, with ids of its own, for the page of a job."""
        return [
            ReadingEntryForm(reading=one, locale=self.locale, auto_id=f"reading_{one.value}_%s")
            for one in ReadingKind
        ]

    @property
    def word(self) -> str:
        """What this kind of reading is called."""
        return str(self.taken.label)

    @property
    def panel(self) -> str:
        """Where it stands in the page."""
        return f"log-{self.kind}-{self.taken.value}"

    @property
    def by_cylinder(self) -> list[list[forms.BoundField]]:
        """The fields of every cylinder; the page shows those of the engine."""
        return self.cylinders(len(self.fields))
