"""The packing sheet of a fondant board: how to set it up, where the blocks go, and its packed weight."""

from fractions import Fraction

from woodshop.design.batch import Batch, Unit, hives_fitted
from woodshop.drawing.values.model import Align, Beside, Block, Column, Drawing, Figure, Heading, Paragraph, Table
from woodshop.drawing.views.pictorial import picture
from woodshop.hardware.board import Setting
from woodshop.hardware.catalogue import board_names, find_item
from woodshop.hardware.registry import BoardPart
from woodshop.plan.buy_list import recipe, water_of
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.weights import weight_of
from woodshop.reference.facts import fact
from woodshop.reference.materials import EXISTING
from woodshop.shape.part import Assembly, Part, Placed, Pose, Role
from woodshop.units.lengths import ZERO, Density, Length, Mass, Volume, decimals, inch

_PAST = inch(1)  # the backing beyond the rim, on all sides
_DRAWN = inch(5)  # the height of blocks in drawings
_WATER = Density(Fraction("0.99823"))  # kg/L at 20 degrees C, from memory
_MOISTURE = Fraction(12, 100)  # moisture of the wood for which the table gives the specific gravity
_NAMES = ("backing board", "mesh", "rim", "packed sugar", "packing block")


def packing_blocks_of(planned: PlannedBatch) -> list[Block]:
    """The sheet, drawn for the first board of the batch. The result is empty if no board is packed."""
    boards = _boards(planned)
    if not boards:
        return []
    first = boards[0]
    blocks = _blocks(planned, first.line.setting)
    shown = [f"{n} {name}" for n, name in enumerate(_NAMES, 1) if name != _NAMES[-1] or blocks]
    return [
        Heading("Packing a fondant board", 2),
        Beside(
            (
                _figure(first, blocks, ZERO, "Pack all the sugar around the blocks, on a backing board."),
                Paragraph(f"{'; '.join(shown)}.", small=True),
            ),
            (
                _figure(
                    first, blocks, _DRAWN, "Then pull all the blocks straight up. The channel and vents stay open."
                ),
                Paragraph(
                    f"Drawn for {hives_fitted(first.line.fits, planned.batch)}. A fondant board loses most of its "
                    "water as it dries. Sources of the weights: report.pdf.",
                    small=True,
                ),
            ),
        ),
        *(() if blocks else (_own_blocks(first.line.setting),)),
        _weights(boards, planned.batch),
    ]


def _own_blocks(setting: Setting) -> Paragraph:
    """The blocks to bring if the batch makes none."""
    size = f"{setting.say(setting.board.block_width)} x {setting.say(setting.board.block_length)}"
    return Paragraph(
        f"This batch makes none. Each person who packs needs {len(setting.voids)} of your own, {size} and taller than "
        "the rim.",
        lead="Packing blocks:",
    )


def weight_sources() -> Paragraph:
    """The sources of the weights of packed boards, for the report."""
    row = fact(_WOOD)
    return Paragraph(
        f"Wood at {row.value} specific gravity ({row.what.split(':')[0].lower()}, {row.cite}) and "
        f"{decimals(_MOISTURE * 100, 0)}% moisture; screws, staples and glue are not counted. Recipe: "
        f"{fact('mix.water').cite}; vinegar is common practice there. Drying time: {fact('mix.drying_days').cite}.",
        lead="Weights of packed boards.",
        small=True,
    )


_WOOD = "wood.weight_eastern_white_pine"


def _boards(planned: PlannedBatch) -> list[Unit]:
    """One unit for each size of board that is packed: the rim if rims are made, otherwise another part of the board."""
    found: dict[tuple[str, Mass], Unit] = {}
    for part in (BoardPart.RIM, BoardPart.FLOOR):
        for unit in planned.units:
            if unit.line.item.board_part is part and unit.line.hives.board_form == "packed":
                found.setdefault((unit.line.fits, unit.line.setting.sugar), unit)
    return list(found.values())


def _made(part: BoardPart, setting: Setting) -> Assembly:
    made: Assembly = find_item(board_names(part)[0]).make(setting)
    return made


def _blocks(planned: PlannedBatch, setting: Setting) -> tuple[Placed, ...]:
    """The packing blocks that this batch makes, in place. The result is empty if it makes none."""
    for unit in planned.units:
        if unit.line.item.board_part is BoardPart.BLOCKS:
            made: Assembly = unit.line.item.make(setting, **dict(unit.line.given))
            return made.placed
    return ()


def backing_size(planned: PlannedBatch) -> tuple[Length, Length]:
    """The length and width of a backing board large enough for every board to pack."""
    outside = [unit.line.setting.outside for unit in _boards(planned)]
    return max(each.long for each in outside) + _PAST * 2, max(each.wide for each in outside) + _PAST * 2


def _figure(unit: Unit, blocks: tuple[Placed, ...], drawn: Length, caption: str) -> Figure:
    setting = unit.line.setting
    out, low = setting.outside, min(setting.mesh_low, ZERO)
    thick = inch("3/4")
    backing = Part("flat backing", EXISTING, out.long + _PAST * 2, out.wide + _PAST * 2, thick)
    numbered = [(Placed(backing, Pose((out.x0 - _PAST, out.y0 - _PAST, low - thick))), 1)]
    numbered += [(each, 2) for each in _made(BoardPart.FLOOR, setting).placed]
    numbered += [(each, 4 if each.role is Role.FILLING else 3) for each in _made(BoardPart.RIM, setting).placed]
    numbered += [(each.moved((ZERO, ZERO, drawn)), 5) for each in blocks]
    drawing = Drawing("Packing a board", unit.line.address, (picture(numbered),), unit=setting.unit)
    return Figure(drawing, caption, inch("1 1/2"), say_scale=False, free_scale=True)


def _weights(boards: list[Unit], batch: Batch) -> Table:
    unit = batch.unit
    columns = (
        Column("for", weight=5),
        Column("sugar depth", Align.RIGHT, weight=5),
        *(Column(word, Align.RIGHT, weight=2) for word in ("sugar", "water", "wood", "mesh")),
        Column("total, wet", Align.RIGHT, weight=3, cut_size=True),
    )
    rows = []
    for each in boards:
        setting = each.line.setting
        water = _WATER.mass_of(recipe(setting.sugar, water_of(batch)).water)
        rim = Volume(Fraction(0))
        for placed in _made(BoardPart.RIM, setting).with_role(Role.MADE, Role.EXISTING):
            rim = rim + placed.box.volume
        wood = Density(fact(_WOOD).number * (1 + _MOISTURE)).mass_of(rim)
        mesh, _ = weight_of(_made(BoardPart.FLOOR, setting).placed)
        weights = [weight(m, unit) for m in (setting.sugar, water, wood, mesh, setting.sugar + water + wood + mesh)]
        rows.append((hives_fitted(each.line.fits, batch), _depth(setting, batch), *weights))
    return Table(columns, tuple(rows))


def _depth(setting: Setting, batch: Batch) -> str:
    """The depth of the sugar, with its possible error if there was a trial."""
    if batch.conditions.trial is None or batch.conditions.trial.found is None:
        return setting.wording.roughly_on_tape(setting.depth)
    depths = batch.conditions.trial.found.depths(setting.sugar, setting.sugar_area)
    low, high = (setting.wording.roughly(depth) for depth in depths)
    return f"{setting.wording.roughly(setting.depth)} ({low.split(' ')[0]} to {high})"


def weight(mass: Mass, unit: str) -> str:
    """A mass as a scale shows it: to 0.1 lb, or to 0.1 kg if `unit` is "mm".

    >>> from woodshop.units.lengths import pound
    >>> weight(pound(16), "in"), weight(pound(16), "mm")
    ('16 lb', '7.3 kg')
    """
    return f"{decimals(mass.grams / 1000, 1)} kg" if unit == "mm" else f"{decimals(mass.pounds, 1)} lb"
