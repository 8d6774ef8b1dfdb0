"""What was erased with its customer's data, and can't be shown any more."""

from django.utils.translation import gettext as _


class Erased(Exception):
    """Somebody asked for it; the sentence may be shown as it stands."""

    def __init__(self) -> None:
        self.sentence = _("What this showed was erased together with its customer's data.")
        super().__init__(self.sentence)
