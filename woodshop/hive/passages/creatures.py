"""Who walks in a hive, by the least clear width that lets it pass, and the parts as each of them meets them.

A mesh and a round hole let pass by what the sources say of such an opening, and not by the square inside it.
"""

from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction
from functools import cache

from woodshop.hive.passages.openings import Clear, verdicts_on
from woodshop.reference.facts import Fact, fact
from woodshop.shape.part import Circle, Placed, Role
from woodshop.units.lengths import ZERO, Length, decimals
from woodshop.units.wording import LengthUnit


@dataclass(frozen=True, slots=True)
class Creature:
    """What walks: the width that it passes, or with `strict` the width that holds it: it passes any that is wider.

    `bold`: it passes openings on which sources disagree.
    """

    name: str
    kind: str
    size: Length
    _: KW_ONLY
    strict: bool
    row: Fact
    bold: bool = True

    def passes(self, clear: Clear) -> bool:
        """Whether it passes an opening: as the sources say; where they are silent, by its clear size."""
        return _passes(self, clear)


@cache
def _passes(who: Creature, clear: Clear) -> bool:
    said = {each.passes for each in verdicts_on(clear) if each.who == who.kind}
    if len(said) == 1:
        return said.pop()
    if said:
        return who.bold
    least = min(clear.width, clear.height)
    return least > who.size if who.strict else least >= who.size


def worker() -> Creature:
    """The least clear width that any source says a worker passes: a plastic queen excluder's.

    >>> print(worker().size.number("mm"), worker().row.key)
    4.05 opening.queen_excluder.plastic
    """
    row = fact("opening.queen_excluder.plastic")
    return Creature("worker", "worker", row.range[0], strict=False, row=row)


def worker_width(unit: LengthUnit) -> str:
    """The least width that a worker passes, as text; inches to a thousandth, down, so that nothing under it passes one.

    >>> worker_width("in"), worker_width("mm")
    ('0.159 in', '4.05 mm')
    """
    size = worker().size
    return size.text("mm") if unit == "mm" else f"{decimals(Fraction(int(size.inches * 1000), 1000), 3)} in"


def narrow_words(unit: LengthUnit) -> str:
    """What is wanted of a gap that must be closed to bees."""
    return f"under {worker_width(unit)}, too narrow for a worker"


@cache
def creatures() -> tuple[Creature, ...]:
    """Worker, queen, drone, and the mouse as each of two sources has it.

    Queen and drone pass whatever is wider than the widest gap that is said to hold them. A mouse is held by 8 mm,
    and by openings on which sources disagree; or passes both.
    """
    queen, drone = fact("opening.queen_excluder.british"), fact("opening.drone_excluder")
    slot, contrary = fact("opening.mouse_slot"), fact("opening.mouse_slot.contrary")
    return (
        worker(),
        Creature("queen", "queen", queen.length, strict=True, row=queen),
        Creature("drone", "drone", drone.range[1], strict=True, row=drone),
        Creature("mouse", "mouse", slot.length, strict=True, row=slot, bold=False),
        Creature("small mouse", "mouse", contrary.length, strict=False, row=contrary),
    )


def as_met(parts: tuple[Placed, ...], who: Creature) -> tuple[tuple[Placed, ...], tuple[Placed, ...]]:
    """The parts as solid as they are to a creature, and the sheets of mesh among them that it passes.

    A round hole that lets it pass is as wide as the square that holds it; one that does not is none.
    """
    met, sheets = [], []
    for placed in parts:
        if (kind := placed.part.material.mesh) is not None:
            clear = kind.clear_opening
            if who.passes(Clear(clear, clear)):
                sheets.append(placed)
        met.append(_holes_as_met(placed, who))
    return tuple(met), tuple(sheets)


def _holes_as_met(placed: Placed, who: Creature) -> Placed:
    if not any(isinstance(cut.outline, Circle) for cut in placed.part.cuts):
        return placed
    cuts = []
    for cut in placed.part.cuts:
        if isinstance(cut.outline, Circle):
            wide = cut.outline.diameter
            if not who.passes(Clear(wide, wide, is_round=True)):
                continue
            cut = replace(cut, outline=cut.outline.square)
        cuts.append(cut)
    return replace(placed, part=replace(placed.part, cuts=tuple(cuts)))


def breathing(parts: tuple[Placed, ...]) -> tuple[Placed, ...]:
    """The parts that air does not go through: without cloth, shavings and plain mesh."""
    return tuple(each for each in parts if not (each.part.material.kind.breathes or _is_mesh(each)))


def _is_mesh(placed: Placed) -> bool:
    return placed.part.material.mesh is not None and placed.part.thickness > ZERO and placed.role is not Role.FILLING
