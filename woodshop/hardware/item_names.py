"""What people may call an item: its name, a set of items that has a name of its own, or a word of the trade."""

from collections.abc import Iterable, Mapping
from difflib import get_close_matches

from woodshop.hardware.catalogue import items

BOARD_PARTS = ("fondant rim", "mesh floor", "spacer strips")
SETS: Mapping[str, tuple[str, ...]] = {
    "board": BOARD_PARTS,
    "fondant board": BOARD_PARTS,
    "candy board": BOARD_PARTS,
}
"""Names that are accepted for several items at once."""

SYNONYMS: Mapping[str, str] = {
    "candy rim": "fondant rim",
    "rim": "fondant rim",
    "wire bottom": "mesh floor",
    "mesh": "mesh floor",
    "hardware cloth": "mesh floor",
    "strips": "spacer strips",
    "lattice strips": "spacer strips",
    "blocks": "packing blocks",
    "forming blocks": "packing blocks",
    "quilt": "quilt box",
    "moisture box": "quilt box",
    "moisture quilt": "quilt box",
    "cover spacers": "vent spacers",
    "entrance guard": "mouse guard",
    "insert": "bottom closure",
    "bottom board insert": "bottom closure",
    "feeder": "feeder quilt",
    "top feeder": "feeder quilt",
    "gauge": "bee-space gauge",
    "feeding shim": "cake rim",
    "shim": "cake rim",
    "spacer rim": "cake rim",
}
"""Words of the trade for an item; refused, with the item's own name as the hint."""


def folded(text: str) -> str:
    """Text without its capitals and doubled spaces."""
    return " ".join(text.casefold().split())


def items_named(name: object) -> tuple[str, ...]:
    """The names of the items that a person's word stands for; none where it stands for nothing."""
    plain = folded(name) if isinstance(name, str) else ""
    if plain in SETS:
        return SETS[plain]
    return (plain,) if any(item.name == plain for item in items()) else ()


def near_item(name: object, known: Iterable[str], otherwise: str = "Choose one of them.") -> str:
    """What to do about a name that is none of the known ones: a sentence."""
    plain, names = folded(str(name)), list(known)
    if plain in SETS and plain not in names:
        return f"Its parts have names of their own: {', '.join(SETS[plain])}."
    if SYNONYMS.get(plain) in names:
        return f"Did you mean {SYNONYMS[plain]!r}?"
    near = get_close_matches(plain, names, n=1)
    return f"Did you mean {near[0]!r}?" if near else otherwise
