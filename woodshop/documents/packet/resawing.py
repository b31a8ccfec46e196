"""Resaw and plane: which boards become thinner ones, in what order, and with what caution."""

from collections.abc import Collection, Iterator

from woodshop.design.settings.resawing import GUARDED_TABLE_SAW, Resawing
from woodshop.documents.packet.at_the_counter import printed_numbers
from woodshop.documents.packet.cautions import caution_line
from woodshop.documents.packet.layouts import ranges
from woodshop.documents.packet.measure_first import limits_of
from woodshop.drawing.values.model import Align, Block, Column, Paragraph, Section, Steps, Table
from woodshop.plan.lumber_at_home import Resawn, resawings
from woodshop.plan.values import BoughtLumber, PlannedBatch
from woodshop.reference.materials import read_material
from woodshop.units.lengths import Length, millimetre

_COLUMNS = (
    Column("", weight=1),
    Column("count", Align.RIGHT, weight=1),
    Column("board", weight=6),
    Column("length", Align.RIGHT, weight=2),
    Column("into", Align.RIGHT, weight=2),
    Column("each off the saw, about", Align.RIGHT, weight=3),
    Column("planed to", Align.RIGHT, weight=2),
    Column("layouts", weight=2),
)


def resaw_chapter(planned: PlannedBatch) -> Section:
    """The chapter about boards to resaw and plane. The result is empty if there are none."""
    own = planned.batch.saw.tools.resawing
    rows = [row for each in planned.lumber for row in _rows(planned, each)]
    if own is None or not rows:
        return Section("", ())
    blocks: list[Block] = [
        Paragraph("Do this before any other cut. Keep a part at its full length until its boards are planed."),
        *map(caution_line, own.caution_topics),
        Table(_COLUMNS, tuple(rows)),
        Steps(tuple(_steps(planned, own))),
    ]
    return Section("Resaw and plane", tuple(blocks))


def _rows(planned: PlannedBatch, bought: BoughtLumber) -> Iterator[tuple[str, ...]]:
    numbers, unit, own = printed_numbers(planned, bought), planned.batch.unit, planned.batch.saw.tools.resawing
    for each in resawings(bought):
        thin = read_material(each.material).thickness
        if own is not None and thin is not None and each.offer.thickness is not None:
            yield (
                "[ ]", str(each.times), each.offer.what, each.length.text(unit), f"{each.count} boards",
                _rough(own, each, unit).text(unit), thin.text(unit), ranges(sorted(numbers[n] for n in each.layouts)),
            )  # fmt: skip


def rough_thickness(planned: PlannedBatch, layouts: Collection[str]) -> str:
    """How thick boards of the layouts with these printed numbers come off the saw, as text. "" if none is resawn."""
    own, unit = planned.batch.saw.tools.resawing, planned.batch.unit
    found = {
        _rough(own, each, unit).text(unit): None
        for bought in planned.lumber
        for numbers in (printed_numbers(planned, bought),)
        for each in resawings(bought)
        if own is not None and any(str(numbers[n]) in layouts for n in each.layouts)
    }
    return " or ".join(found)


def _rough(own: Resawing, each: Resawn, unit: str) -> Length:
    """How thick a board comes off the saw, rounded down to a size that calipers show."""
    thick = own.off_the_saw(each.offer.thickness or each.length, each.count)
    return thick.down_to(millimetre("1/10")) if unit == "mm" else thick


def _whose_days(planned: PlannedBatch) -> str:
    """The source of the resting days if they are a default, in parentheses."""
    found = next((each for each in planned.batch.crew.defaults if each.name == "resting_days"), None)
    return "" if found is None else f" (default: {found.source})"


def _steps(planned: PlannedBatch, own: Resawing) -> Iterator[str]:
    batch = planned.batch
    say, unit, days = batch.wording.length, batch.unit, batch.crew.resting_days
    every = [each for bought in planned.lumber for each in resawings(bought)]
    yield (
        "Read the stamp on each board. KD or KD-HT: dried in a kiln, though still damp inside. S-GRN: green, and a "
        "board without a stamp counts as green. Take a green board back, or resaw it and let it rest until two "
        "weighings a week apart agree. Wood that is stamped as treated, or is green-brown with rows "
        "of small cuts, never goes into a hive."
    )
    yield "Look for staples and nails, and pull them. Choose the flatter face; it goes against the fence."
    rough = " or ".join(dict.fromkeys(_rough(own, each, unit).text(unit) for each in every))
    if own.saw == GUARDED_TABLE_SAW:
        yield (
            f"Table saw: set the fence so that a board {rough} thick comes off. Guard and riving knife stay on. Cut "
            "the board on edge in one pass, right through, with a tall fence, a featherboard ahead of the blade and a "
            "push block. Never cut halfway from both edges."
        )
    else:
        yield (
            f"Band saw: set a tall fence so that a board {rough} thick comes off. Try it on scrap. Cut the board on "
            "edge, with a featherboard ahead of the blade and a push block at the end."
        )
    yield (
        f"Write the layout's number on each new board. Stack the boards indoors with sticks between them and a weight "
        f"on top, for {days} day{'s' if days != 1 else ''}{_whose_days(planned)}. That is for lumber dried in a kiln; "
        "a board that still changes in width or weight is not ready."
        if days
        else "Write the layout's number on each new board."
    )
    woods = sorted({thin for each in every if (thin := read_material(each.material).thickness) is not None})
    limits = " or ".join(limits_of(wood, batch) for wood in woods)
    yield (
        f"Plane both faces, the sawn one first if the other is flat: at least {say(own.planing)} off each face, in "
        f"light cuts, until the board is {limits} thick. No board shorter than {say(own.shortest)} goes into the "
        "planer."
    )
    yield "Then go on with the next chapter. One end of each board is squared before any other cut."
