"""The step at the saw page for boards that are resawn: each new board is ticked once it is planed."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from woodshop.documents.packet.layouts import NumberedLayout, is_resawn
from woodshop.documents.packet.resawing import rough_thickness
from woodshop.plan.values import PlannedBatch
from woodshop.reference.cautions import cautions, defer
from woodshop.units.lengths import lengths_in
from woodshop.units.wording import LengthUnit

Step = tuple[dict[str, Any], dict[str, Any]]
"""What a step is, and what it also shows."""


def planed_steps(
    number: int, layouts: Sequence[NumberedLayout], as_read: Mapping[LengthUnit, PlannedBatch]
) -> Iterator[Step]:
    """The step for the resawn boards among these layouts of the list with this `number`. There may be none.

    `as_read` is the plan as it is printed in each unit.
    """
    own = [layout for layout in layouts if is_resawn(layout)]
    if not own:
        return
    yield (
        {
            "list": number,
            "deed": "Resaw, rest and plane",
            "more": {unit: _words(own, each) for unit, each in as_read.items()},
            "is_cut": False,
            "set": "",
            "to": dict.fromkeys(as_read, ""),
            "is_length": True,
            "gives": "",
            "pieces": 0,
            "cautions": {unit: _cautions(each, unit) for unit, each in as_read.items()},
            "boards": [
                {
                    "layout": int(layout.number), "times": layout.times, "is_trim": True, "pieces": 0, "gives": "",
                    "cuts": [],
                }
                for layout in own
            ],
        },
        {
            "cut_with": "saw",
            "sight": {unit: ["Push block at the saw.", "Nothing short goes into the planer."] for unit in as_read},
            "how": "",
            "saw": [],
            "marks": {},
            "loose": {},
        },
    )  # fmt: skip


def _words(layouts: Sequence[NumberedLayout], planned: PlannedBatch) -> str:
    own, say, days = planned.batch.saw.tools.resawing, planned.batch.wording.length, planned.batch.crew.resting_days
    thin = layouts[0].material.thickness
    if own is None or thin is None:
        return ""
    rough = rough_thickness(planned, {layout.number for layout in layouts})
    rest = f"Rest the new boards between sticks for {days} day{'s' if days != 1 else ''}. " if days else ""
    return (
        f"Saw on edge with the {own.saw}: about {rough} each off the saw. {rest}Then plane both faces to {say(thin)}; "
        f"nothing shorter than {say(own.shortest)}. Tick each new board once it is planed."
    )


def _cautions(planned: PlannedBatch, unit: LengthUnit) -> list[list[str]]:
    own = planned.batch.saw.tools.resawing
    with lengths_in(unit):
        return [
            [f"Caution, {topic}:", " ".join([*(row.text for row in cautions(topic)), defer(topic)])]
            for topic in (own.caution_topics if own is not None else ())
        ]
