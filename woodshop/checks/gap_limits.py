"""What is wanted of a gap, as limits that a chain can be held against: the same rows that the grades go by."""

from dataclasses import dataclass

from woodshop.checks.limits import Limits
from woodshop.hive.passages.creatures import narrow_words, worker
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length


@dataclass(frozen=True, slots=True)
class Sagging:
    """What fresh sugar does to a mesh over the bars: `sag` below where it hangs empty; `between` below the strips.

    `between` is None where the mesh does not come to rest on strips: then all of `sag` goes from the room over the
    bars. On strips the room is what they hold up less `between`, however wide the gap was.
    """

    sag: Length = ZERO
    between: Length | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """The least and the most a gap may be, both good unless `under`: then less than the most. None: no such limit."""

    least: Length | None
    most: Length | None
    words: str = ""
    under: bool = False

    @property
    def is_wanted(self) -> bool:
        """Whether anything is wanted of it."""
        return self.least is not None or self.most is not None

    def holds(self, gap: Length) -> bool:
        """Whether a gap of that size is as wanted."""
        if self.least is not None and gap < self.least:
            return False
        return self.most is None or gap < self.most or (gap == self.most and not self.under)

    def off(self, gap: Length) -> Length:
        """How far a gap of that size is past the limit that it breaks; nothing where it breaks none."""
        short = ZERO if self.least is None else self.least - gap
        return max(ZERO, short, ZERO if self.most is None else gap - self.most)


def wanted_of(name: str, kind: str, made: Length, limits: Limits, mesh: Sagging) -> Wanted:
    """What is wanted of a gap of that name and kind, and of that size as made; `mesh` is what fresh sugar does to it.

    Things stand on each other however their sizes stray: of contacts nothing is wanted but that strips or sugar do not
    hold what stands on walls off them.
    """
    if kind == "bees' way":
        return Wanted(limits.least, limits.most, limits.words)
    if kind == "mesh over bars":
        least = fact("bee_space.amber_least")
        sag = mesh.sag if mesh.between is None else ZERO
        words = f"{least.value} once it sags {sag}," if sag else least.value
        return Wanted(limits.mesh_least + sag, limits.most, f"{words} to {limits.most}")
    if kind == "mesh on strip" and mesh.between is not None:
        least = fact("bee_space.amber_least")
        return Wanted(limits.mesh_least + mesh.between, None, f"{least.value} and the {mesh.between} it sags between")
    if name == "overhang":
        row = fact("box.overhang_most")
        return Wanted(ZERO - row.length, row.length, f"at most {row.value}")
    if kind == "contact" and name.endswith(" on wall"):
        row = fact("strip.proud_most")
        return Wanted(None, made + row.length, f"at most {row.value} off the wall")
    if kind == "shut":
        who = worker()
        return Wanted(None, who.size, narrow_words(limits.unit), under=True)
    if kind == "declared" and name != "upper entrance to skirt":  # that way has a check of its own, which walks it
        return Wanted(ZERO, None, "more than nothing")
    return Wanted(None, None)
