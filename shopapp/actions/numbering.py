"""Takes document numbers from series without gaps or repeats."""

from shopapp.actions.locks import locked
from shopapp.models import NumberSeries

SERIES = {"work_order": "W", "quote": "Q", "invoice": "INV", "credit_note": "CN", "receipt": "R"}


def take_number(code: str) -> str:
    """The next number of a series, such as ``INV-00042``.

    Locks the series row until the surrounding transaction ends: a second taker waits, and a transaction
    that fails (or a process that is killed) gives the number back. Take it after the record is locked and
    before activity is recorded.
    """
    series = locked(NumberSeries.objects.filter(code=code)).first()
    if series is None:
        first = NumberSeries(code=code, prefix=SERIES[code])
        NumberSeries.objects.bulk_create([first], ignore_conflicts=True)
        series = locked(NumberSeries.objects.filter(code=code)).get()
    number = f"{series.prefix}-{series.next_value:0{series.digits}d}"
    series.next_value += 1
    series.save(update_fields=["next_value"])
    return number
