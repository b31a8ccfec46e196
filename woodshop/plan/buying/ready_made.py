"""Things bought ready-made where the user allows it: each kind, for each box, is wholly made or wholly bought."""

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from woodshop.design.batch import Batch, Unit
from woodshop.design.lumberyard.lumberyard_file import Ready
from woodshop.errors import InputError, Problem
from woodshop.findings import Finding, Report, Severity, gather
from woodshop.plan.buying.buy_list import amounts
from woodshop.plan.values import Unpriced

MOST_KINDS = 4


@dataclass(frozen=True, slots=True)
class ReadyNeed:
    """So many of an item for boxes of one count of frames, and where they are sold."""

    item: str
    frames: int
    count: int
    offers: tuple[Ready, ...]

    @property
    def group(self) -> str:
        """The group of its purchases."""
        return f"ready-made {self.item}"

    @property
    def words(self) -> str:
        """What it is called in the lists."""
        return f"{self.item} for {self.frames} frames, ready-made"


@dataclass(frozen=True, slots=True)
class Variant:
    """A batch with what it buys ready-made: lines of it make none of those, and say how many are bought."""

    batch: Batch
    units: tuple[Unit, ...]
    ready: tuple[ReadyNeed, ...] = ()

    @property
    def amounts(self) -> list[tuple[str, Fraction, str]]:
        """The goods needed."""
        return amounts(self.batch, self.units)

    @property
    def unpriced(self) -> tuple[Unpriced, ...]:
        """The goods that no yard sells."""
        sold = {pack.goods for pack in self.batch.yard.packs}
        return tuple(Unpriced(goods, why) for goods, _, why in self.amounts if goods not in sold)

    @property
    def ready_words(self) -> tuple[str, ...]:
        """What is bought ready-made, in words."""
        return tuple(need.words for need in self.ready)


def variants_of(batch: Batch, units: tuple[Unit, ...]) -> tuple[Variant, ...]:
    """The batch with all made, then with each choice of what may be bought ready-made and is sold.

    Raises InputError where the design allows an item that no yard sells, or too many kinds are to be chosen among.
    """
    allowed, found = batch.buying.ready_made, []
    for name in allowed:
        if not any(ready.item == name for ready in batch.yard.ready):
            wanted = "an item that a yard file has under [[ready]]"
            found.append(Problem("design, buying, ready_made", repr(name), wanted, "Add it there with its price."))
    kinds: dict[tuple[str, int], int] = {}
    for unit in units:
        line = unit.line
        if line.item.name in allowed and line.item.per == "hive" and line.count:
            kind = (line.item.name, line.setting.box.frames)
            kinds[kind] = kinds.get(kind, 0) + line.count
    needs = []
    for (item, frames), count in kinds.items():
        offers = tuple(ready for ready in batch.yard.ready if ready.fits(item, frames))
        if offers:
            needs.append(ReadyNeed(item, frames, count, offers))
    if len(needs) > MOST_KINDS:
        given = f"{len(needs)} kinds that could be bought: {', '.join(need.words for need in needs)}"
        wanted = f"at most {MOST_KINDS} to choose among"
        found.append(Problem("design, buying, ready_made", given, wanted, "Name fewer items."))
    if found:
        raise InputError(*found)
    return tuple(_bought(batch, units, some) for many in range(len(needs) + 1) for some in combinations(needs, many))


def _bought(batch: Batch, units: tuple[Unit, ...], needs: tuple[ReadyNeed, ...]) -> Variant:
    if not needs:
        return Variant(batch, units)
    kinds = {(need.item, need.frames) for need in needs}
    changed: list[Unit] = []
    for unit in units:
        line = unit.line
        if line.count and (line.item.name, line.setting.box.frames) in kinds:
            words = f"{line.arithmetic}, bought ready-made"
            unit = replace(unit, line=replace(line, count=0, bought=line.count, arithmetic=words))
        changed.append(unit)
    lines = tuple(unit.line for unit in changed)
    return Variant(replace(batch, lines=lines), tuple(changed), needs)


def with_notes(report: Report, variant: Variant) -> Report:
    """The report, with a note for each thing bought ready-made: what is sold was not measured."""
    if not variant.ready:
        return report
    notes = [
        Finding(
            "ready-made-not-measured",
            Severity.NOTE,
            need.words,
            f"{need.count} bought as they are sold; what was measured is the one that would be made",
            "a thing that fits these boxes",
            "the yard file",
            "Hold one to a box before you buy the rest.",
        )
        for need in variant.ready
    ]
    return gather([*report.findings, *notes])
