"""Designs in which every two choices meet: box, joint, mounting, unit, paper, and every item with each of them."""

from dataclasses import dataclass
from functools import cache

from tests.drawing.drawn_batches import FRAMES, ITEMS, JOINTS, MOUNTINGS, UNITS, every_item
from woodshop.plan.values import PlannedBatch

PAPERS = ("letter", "a4")


@dataclass(frozen=True, slots=True)
class Case:
    """One batch to be drawn."""

    frames: int
    joint: str
    mounting: str
    unit: str
    paper: str
    items: tuple[str, ...]

    @property
    def name(self) -> str:
        """What it is called in a list of tests."""
        return "-".join((str(self.frames), self.joint, self.unit, self.paper)).replace(" ", "-").replace(",", "")

    @property
    def values(self) -> tuple[object, ...]:
        """The choices but the items, in a fixed order."""
        return self.frames, self.joint, self.mounting, self.unit, self.paper


def _case(f: int, j: int) -> Case:
    """The box of that number with the joint of that number; a third of the items, and one joint a box with all."""
    whole = j == (2, 4, 1)[f]
    items = tuple(name for n, name in enumerate(ITEMS) if whole or (n + j - f) % 3 == 0)
    return Case(FRAMES[f], JOINTS[j], MOUNTINGS[(f + j) % 3], UNITS[(f + j) % 2], PAPERS[(f + (j + 1) // 2) % 2], items)


CASES = tuple(_case(f, j) for f in range(len(FRAMES)) for j in range(len(JOINTS)))

SOME_CASES = tuple(_case(f, j) for f, j in ((0, 2), (1, 0), (2, 3), (1, 1), (2, 4)))
"""Of these every choice is in one at least, and every item with every other: drawn at each landing, all at night."""


@cache
def batch_of(case: Case) -> PlannedBatch:
    """The case's batch, made once in a process."""
    names = ", ".join(f'"{name}"' for name in case.items)
    return every_item(case.frames, case.joint, case.unit, case.paper, mounting=case.mounting, items=names)
