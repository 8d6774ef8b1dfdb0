"""What the trade reckons with before a shop has a record of its own: a start, editable, and called that."""

from collections.abc import Mapping

from shopapp.models import RepairKind, Shop, Way

# of 10,000 such repairs, back within a season: common practice, no source
USUAL = {
    RepairKind.NEW_UNIT: 200,
    RepairKind.NEW_PART: 500,
    RepairKind.EXCHANGE_UNIT: 667,
    RepairKind.SOUND_SURFACE: 1_250,
    RepairKind.POLISHED: 2_000,
    RepairKind.USED_UNIT: 2_500,
    RepairKind.GROOVE_FELT: 5_000,
}
KIND_OF_WAY = {
    Way.MEND: RepairKind.SOUND_SURFACE,
    Way.NEW: RepairKind.NEW_PART,
    Way.EXCHANGE: RepairKind.EXCHANGE_UNIT,
    Way.USED: RepairKind.USED_UNIT,
    Way.REPLACE: RepairKind.NEW_UNIT,
}


def starting_chances(shop: Shop) -> Mapping[RepairKind, int]:
    """Of 10,000 repairs of each kind, how many are back within a season: as the shop says, or as usual."""
    own = shop.starting_chances
    return {kind: own.get(kind.value, usual) for kind, usual in USUAL.items()}
