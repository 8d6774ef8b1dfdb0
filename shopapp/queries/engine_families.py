"""What the spec book says of one engine: its family, and the bulletins that may be for its serial."""

from dataclasses import dataclass

from shopapp.calc.serials import InRange, in_range
from shopapp.models import Bulletin, Engine, EngineFamily


@dataclass(frozen=True, kw_only=True)
class BulletinNote:
    """A bulletin; ``is_for_a_look``: whether it is for this serial, a person has to see."""

    number: str
    text: str
    is_for_a_look: bool


@dataclass(frozen=True, kw_only=True)
class FamilyOfEngine:
    """The family that somebody picked for an engine."""

    pk: int
    words: str
    bulletins: tuple[BulletinNote, ...]


def family_of(engine: Engine) -> FamilyOfEngine | None:
    """The family of an engine with its bulletins; None while nobody picked one. Two queries at most."""
    family = EngineFamily.objects.filter(pk=engine.family_id).first() if engine.family_id else None
    if family is None:
        return None
    rows = Bulletin.objects.filter(family=family).order_by("number", "pk")
    covered = [(row, in_range(engine.serial, first=row.serial_from, last=row.serial_to)) for row in rows]
    return FamilyOfEngine(
        pk=family.pk,
        words=f"{family}",
        bulletins=tuple(
            BulletinNote(number=row.number, text=row.text, is_for_a_look=where == InRange.LOOK)
            for row, where in covered
            if where != InRange.NO
        ),
    )
