"""The one error for bad input: it names the field, the value and what would be accepted."""

LONGEST_SHOWN = 60


class BadInput(ValueError):
    """Refused input. `accepted` finishes the sentence "Give …", so `sentence` may be shown to a person."""

    def __init__(self, field: str, value: object, accepted: str) -> None:
        super().__init__(field, value, accepted)
        self.field = field
        self.value = value
        self.accepted = accepted

    @property
    def sentence(self) -> str:
        """For example: quantity: "abc" is not accepted. Give a number above 0."""
        return f'{self.field}: "{self._shown}" is not accepted. Give {self.accepted}.'

    @property
    def _shown(self) -> str:
        shown = str(self.value)
        return shown if len(shown) <= LONGEST_SHOWN else f"{shown[:LONGEST_SHOWN]}…"

    def __str__(self) -> str:
        return self.sentence
