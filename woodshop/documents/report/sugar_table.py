"""Sugar of one board, rim, depth and mix for each kind of hive, and where each value comes from: part of `check`."""

from collections.abc import Iterator
from dataclasses import KW_ONLY, dataclass

from woodshop.design.batch import Batch, Hives, Unit
from woodshop.design.make_units import place_of
from woodshop.design.settle.settle import ten_frame_area
from woodshop.documents.packet.mix import cups, spoons
from woodshop.drawing.values.model import Block, Heading, KeyValues, Paragraph, Section
from woodshop.engineering.sugar import Mix, share_by_area
from woodshop.hardware.board import Setting
from woodshop.hardware.registry import BoardPart
from woodshop.plan.buy_list import bowls_of_board, recipe, water_of
from woodshop.reference.facts import fact
from woodshop.units.lengths import LITRES_PER_US_CUP, Mass, decimals

HEAD = "Sugar, rim and mix of one board"
GIVEN = "given under [board]"


@dataclass(frozen=True, slots=True)
class BoardSugar:
    """What one board of a kind of hive holds. `mix` is None where boards are sold without sugar."""

    hives: Hives
    setting: Setting
    mix: Mix | None
    _: KW_ONLY
    sugar_from: str
    density_from: str
    height_from: str
    mix_from: str


def boards_of(batch: Batch, units: tuple[Unit, ...]) -> tuple[BoardSugar, ...]:
    """The board of each group of hives that a rim or a mesh floor is made for, in the order of the batch."""
    settings: dict[str, Setting] = {}
    for unit in units:
        if unit.line.item.board_part in (BoardPart.RIM, BoardPart.FLOOR):
            settings.setdefault(unit.line.hives.name, unit.line.setting)
    return tuple(_board(batch, units, hives, settings[hives.name]) for hives in batch.hives if hives.name in settings)


def _board(batch: Batch, units: tuple[Unit, ...], hives: Hives, setting: Setting) -> BoardSugar:
    mix = None
    if hives.is_packed:
        mix = recipe(setting.sugar, water_of(batch), bowls_of_board(units, setting.sugar))
    weighed = batch.conditions.trial is not None and batch.conditions.trial.found is not None
    stirred = batch.conditions.trial is not None and ("trial", "water") not in {
        (d.where, d.name) for d in batch.defaults
    }
    return BoardSugar(
        hives,
        setting,
        mix,
        sugar_from=_sugar_from(batch, hives, setting),
        density_from="your trial" if weighed else _from(batch, "density"),
        height_from=_height_from(setting),
        mix_from="your trial" if stirred else f"recipe: {fact('mix.water').cite}",
    )


def _from(batch: Batch, key: str) -> str:
    """Where a setting of the board comes from: the design, or the source of its default."""
    source = next((d.source for d in batch.defaults if (d.where, d.name) == ("board", key)), None)
    return GIVEN if source is None else f"default: {source}"


def _sugar_from(batch: Batch, hives: Hives, setting: Setting) -> str:
    if hives.is_sugar_given:
        return "given under these hives"
    board = setting.board
    if hives.sugar == board.sugar and setting.box.frames == 10:
        return _from(batch, "sugar")
    box, whole = setting.box, _mass(board.sugar, setting.unit)
    fair = share_by_area(board.sugar, box.inside_length * box.inside_width, ten_frame_area())
    share = f"its share by area of the {whole} of a 10-frame board, {_mass(fair, setting.unit)}"
    if board.other_sugar == "whole bags":
        bags = hives.sugar / board.bag
        share += f", down to whole bags: {decimals(bags, 0)} of {_mass(board.bag, setting.unit)}"
    return f'{share} (other_sugar = "{board.other_sugar}", {_from(batch, "other_sugar")})'


def _height_from(setting: Setting) -> str:
    board = setting.board
    if board.height is not None:
        return GIVEN
    if board.made_of == "box on hand":
        return "the shallow box on hand"
    if board.ripped or board.made_of == "plywood":
        return "cut to what is needed"
    return "the next full board width"


def sugar_section(batch: Batch, units: tuple[Unit, ...], is_brief: bool = False) -> Section:
    """What each board holds; hives with like boards once. No blocks where no board is made.

    Where it is brief, each sugar and rim in one line.

    In the data masses are in grams, lengths are text in the design's unit, water is in liters.
    """
    boards = boards_of(batch, units)
    alike: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for each in boards:
        alike.setdefault(_pairs(each), []).append(place_of(each.hives))
    blocks: list[Block] = []
    for pairs, names in alike.items():
        blocks += [Heading("; ".join(dict.fromkeys(names)), 3), KeyValues(pairs)]
    rows = [
        {
            "hives": place_of(each.hives),
            "count": each.hives.count,
            "sugar_grams": float(round(each.setting.sugar.grams, 1)),
            "sugar": _mass(each.setting.sugar, batch.unit),
            "sugar_from": each.sugar_from,
            "depth": each.setting.wording.roughly(each.setting.depth),
            "density": str(each.setting.board.density),
            "density_from": each.density_from,
            "rim_height": each.setting.height.number(batch.unit),
            "rim_height_needed": each.setting.wording.roughly(each.setting.needed_height),
            "rim_height_from": each.height_from,
            "unit": batch.unit,
            "mix": None
            if each.mix is None
            else {
                "bowls": each.mix.bowls,
                "water_litres": float(round(each.mix.water.litres, 3)),
                "vinegar_tablespoons": float(round(each.mix.vinegar_tablespoons, 2)),
                "water_share": float(round(each.mix.water_share, 4)),
            },
            "mix_from": each.mix_from,
        }
        for each in boards
    ]
    if is_brief:
        return Section("", tuple(_lines(boards)), {"sugar": rows})
    return Section(HEAD, tuple(blocks), {"sugar": rows})


def _lines(boards: tuple[BoardSugar, ...]) -> Iterator[Block]:
    alike: dict[str, list[str]] = {}
    for each in boards:
        setting = each.setting
        sugar = f"{_mass(setting.sugar, setting.unit)} of sugar" if each.mix else f"no sugar ({each.hives.form})"
        alike.setdefault(f"{sugar}, rim {setting.say(setting.height)}", []).append(
            each.hives.name or place_of(each.hives)
        )
    words = "; ".join(f"{line}: {', '.join(dict.fromkeys(names))}" for line, names in alike.items())
    if words:
        yield Paragraph(f"{words}.", lead="A fondant board:")


def _pairs(each: BoardSugar) -> tuple[tuple[str, str], ...]:
    setting, unit, say = each.setting, each.setting.unit, each.setting.say
    needed = f"{setting.wording.roughly(setting.needed_height)} needed"
    sold = f"none, the boards are sold as {each.hives.form}"
    return (
        ("sugar", f"{_mass(setting.sugar, unit)} dry, {each.sugar_from}"),
        ("depth", f"{setting.wording.roughly(setting.depth)} at {setting.board.density}, {each.density_from}"),
        ("rim", f"{say(setting.height)} high, {each.height_from}; {needed}"),
        ("mix", sold if each.mix is None else f"{_mix_words(each.mix, unit)}, {each.mix_from}"),
    )


def _mix_words(mix: Mix, unit: str) -> str:
    bowl, water = _mass(mix.sugar / mix.bowls, unit), cups(mix.water_per_bowl.us_cups)
    if unit == "mm":
        water = f"{decimals(mix.water_per_bowl.us_cups * LITRES_PER_US_CUP * 1000, 0)} mL"
    vinegar = spoons(mix.vinegar_tablespoons / mix.bowls)
    bowls = f"{mix.bowls} bowls, each" if mix.bowls > 1 else "1 bowl,"
    return f"{bowls} {bowl} of sugar, {water} of water, {vinegar} of white vinegar"


def _mass(mass: Mass, unit: str) -> str:
    return mass.text("kg" if unit == "mm" else "lb")
