"""Tables for the check: graded gaps, openings and the creatures that can pass them, and the sugar in a board."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import KW_ONLY, dataclass, replace

from woodshop.checks.hives import HiveGroup
from woodshop.checks.mesh_state import MeshState, loaded_gaps
from woodshop.design.batch import Batch, Hives, Unit
from woodshop.design.make_units import place_of
from woodshop.design.settle.settle import ten_frame_area
from woodshop.documents.packet.mix import cups, spoons
from woodshop.drawing.values.model import Block, Bullets, Column, Data, Heading, KeyValues, Paragraph, Section, Table
from woodshop.engineering.sugar import Mix, share_by_area
from woodshop.hardware.board import Setting
from woodshop.hardware.registry import BoardPart
from woodshop.hive.creatures import CREATURES, Clear, Opening, Verdict, openings_of
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.grading import FITTING, BeeSpace, GradedGap, MeshSag, grade_gaps
from woodshop.plan.buy_list import bowls_of_board, recipe, water_of
from woodshop.reference.facts import fact
from woodshop.units.lengths import LITRES_PER_US_CUP, ZERO, Mass, decimals, lengths_in
from woodshop.units.wording import wording_of

_SIDES = ("front", "back", "left", "right", "all around")


def gap_rows(groups: tuple[HiveGroup, ...], space: BeeSpace) -> list[tuple[tuple[str, ...], tuple[GradedGap, ...]]]:
    """For each distinct hive, the groups that have it, and its gaps, graded over all its measured top-bar gaps."""
    alike: dict[tuple[GradedGap, ...], list[str]] = {}
    known: dict[tuple[tuple[tuple[Gap, ...], ...], MeshState | None], tuple[GradedGap, ...]] = {}
    for group in groups:
        for name, measured in group.alternatives:
            of = tuple(hive.gaps for _, hive in measured), group.mesh
            if of not in known:
                known[of] = _graded(of[0], space, group.mesh)
            alike.setdefault(known[of], []).append(name)
    return [(tuple(dict.fromkeys(names)), rows) for rows, names in alike.items()]


def _graded(measured: tuple[tuple[Gap, ...], ...], space: BeeSpace, mesh: MeshState | None) -> tuple[GradedGap, ...]:
    """The gaps of one hive over all measurements, each with its smallest and largest size and its worst grade."""
    found: dict[tuple[str, str], GradedGap] = {}
    for gaps in measured:
        sag = MeshSag() if mesh is None else mesh.sag_in(gaps)
        for new in grade_gaps((*gaps, *loaded_gaps(gaps, mesh)), space, sag):
            key = (new.gap.name, new.gap.place)
            old = found.setdefault(key, new)
            worst = min(old, new, key=lambda row: (row.grade.rank, ZERO - (row.limits.least or ZERO)))
            least = new.gap if new.gap.least < old.gap.least else old.gap
            found[key] = replace(worst, gap=replace(least, most=max(old.gap.most, new.gap.most)))
    return tuple(found.values())


def gap_section(groups: tuple[HiveGroup, ...], space: BeeSpace, unit: str, is_brief: bool = False) -> Section:
    """The gaps hive by hive, with identical gaps in one row. Good contacts are only counted.

    If `is_brief` is true, there is only the number of gaps with each grade. In the data, sizes are text in the unit of
    the design, and `hives` lists the hives with the gap.
    """
    hives, band = gap_rows(groups, space), wording_of(unit).quoted(space.words)
    blocks: list[Block] = []
    for names, rows in hives:
        table, touching = _table(rows, unit)
        blocks += [Heading("; ".join(names), 3), table]
        blocks.append(Paragraph(f"and {touching} contacts and edges in order"))
    gaps: list[Data] = [
        {
            "name": row.gap.name,
            "place": row.gap.place,
            "hives": names,
            "least": row.gap.least.number(unit),
            "most": row.gap.most.number(unit),
            "unit": unit,
            "between": row.gap.between,
            "kind": row.gap.kind,
            "limits": row.limits.words,
            "source": row.limits.source,
            "grade": row.grade,
        }
        for names, rows in hives
        for row in rows
    ]
    if is_brief:
        counts = Counter(row.grade for _, rows in hives for row in rows if row.grade not in FITTING)
        words = ", ".join(f"{counts[grade]} {grade}" for grade in sorted(counts, key=lambda grade: grade.rank))
        lead = f"Gaps in {len(hives)} kind{'s' if len(hives) > 1 else ''} of hive, bee space {band}:"
        return Section("", (Paragraph(f"{words}.", lead=lead),), {"gaps": gaps})
    chosen = "" if space.is_default else ", chosen by you"
    title = f"Gaps, calculated from your sizes; bee space {band} ({space.name}{chosen}; {space.cite})"
    return Section(title, tuple(blocks), {"gaps": gaps})


def _table(rows: tuple[GradedGap, ...], unit: str) -> tuple[Table, int]:
    """The table, and the number of contacts omitted."""
    wording = wording_of(unit)
    alike: dict[tuple[str, str, str], list[Gap]] = {}
    for row in rows:
        if row.grade not in FITTING:
            alike.setdefault((row.gap.name, row.limits.words, row.grade), []).append(row.gap)
    cells = tuple(
        (
            name,
            ", ".join(dict.fromkeys(_where(gap.place) for gap in gaps)),
            wording.range(size for gap in gaps for size in (gap.least, gap.most)),
            wording.quoted(wanted),
            grade,
        )
        for (name, wanted, grade), gaps in alike.items()
    )
    columns = tuple(Column(head) for head in ("gap", "where", "size", "wanted", "grade"))
    return Table(columns, cells), sum(row.grade in FITTING for row in rows)


def _where(place: str) -> str:
    """The place of a gap without the side, lane or number."""
    head, comma, tail = place.rpartition(", ")
    if comma and (tail in _SIDES or tail.split(" ")[0] in ("lane", "strip", "spacer")):
        return _where(head)
    return place


def batch_openings(units: tuple[Unit, ...]) -> tuple[tuple[Opening, tuple[str, ...]], ...]:
    """Every distinct opening of these units, and the units that have it, in the order of the batch."""
    found: dict[Opening, list[str]] = {}
    for unit in units:
        for opening in openings_of(unit.assembly.placed, unit.assembly.spaces):
            found.setdefault(opening, []).append(unit.line.address)
    return tuple((opening, tuple(dict.fromkeys(places))) for opening, places in found.items())


def openings_section(units: tuple[Unit, ...], unit: str, sources: bool = False) -> Section:
    """Every opening, with identical openings together, and the creatures that can pass it.

    Sources are shown if they disagree, or always if `sources` is true. In the data, sizes are text in the unit of the
    design, and the verdicts repeat the sources.
    """
    with lengths_in(unit):
        found = [(_in_unit(opening, unit), places) for opening, places in batch_openings(units)]
    alike: dict[tuple[str, str, tuple[Verdict, ...]], list[tuple[Opening, tuple[str, ...]]]] = {}
    for opening, places in found:
        alike.setdefault((opening.name, opening.place, opening.verdicts), []).append((opening, places))
    blocks: list[Block] = []
    for (name, part, _), group in alike.items():
        sizes = ", ".join(dict.fromkeys(_size(opening.clear, unit) for opening, _ in group))
        items = ", ".join(dict.fromkeys(place.split(" / ")[0] for _, places in group for place in places))
        said = [(who, *_said(group[0][0], who, sources)) for who in CREATURES]
        blocks.append(Heading(f"{name}, {sizes} clear: {part} of {items}", 3))
        blocks.append(KeyValues(tuple((who, head) for who, head, *_ in said)))
        if words := tuple(f"{who}, {line}" for who, _, *lines in said for line in lines):
            blocks.append(Bullets(words))
    rows: list[Data] = [
        {
            "name": opening.name,
            "part": opening.place,
            "in": places,
            "clear": _size(opening.clear, unit),
            "kind": opening.kind,
            "count": opening.count,
            "disagree": opening.disagree_on(),
            "said": [
                {"who": v.who, "passes": v.passes, "of": v.of, "words": v.words, "source": v.source}
                for v in opening.verdicts
            ],
        }
        for opening, places in found
    ]
    return Section("", tuple(blocks), {"openings": rows})


def _in_unit(opening: Opening, unit: str) -> Opening:
    """The opening with what its sources say, and metric sizes beside it in a metric design."""
    say = wording_of(unit).quoted
    verdicts = (replace(v, of=say(v.of), words=say(v.words), source=say(v.source)) for v in opening.verdicts)
    return replace(opening, verdicts=tuple(verdicts))


def _said(opening: Opening, who: str, sources: bool) -> Iterator[str]:
    """Text on whether a creature can pass, then the sources to cite."""
    said = [verdict for verdict in opening.verdicts if verdict.who == who]
    sides = [word for passes, word in _WORDS if any(verdict.passes is passes for verdict in said)]
    yield "no source says" if not sides else sides[0] if len(sides) == 1 else "SOURCES DISAGREE"
    if sources or len(sides) > 1:
        for passes, word in _WORDS:
            yield from (f"{word}: {v.of}: {v.words} {v.source}" for v in said if v.passes is passes)


_WORDS = ((True, "passes"), (False, "held"))


def _size(clear: Clear, unit: str) -> str:
    if clear.is_round:
        return f"{clear.width.text(unit)} dia."
    return f"{clear.width.number(unit)} x {clear.height.text(unit)}"


HEAD = "Sugar, rim and mix of one board"
GIVEN = "set under [board]"


@dataclass(frozen=True, slots=True)
class BoardSugar:
    """The contents of one board for a group of hives. `mix` is None if boards are sold without sugar."""

    hives: Hives
    setting: Setting
    mix: Mix | None
    _: KW_ONLY
    sugar_from: str
    density_from: str
    height_from: str
    mix_from: str


def boards_of(batch: Batch, units: tuple[Unit, ...]) -> tuple[BoardSugar, ...]:
    """The board of each group of hives with a rim or a wire bottom, in the order of the batch."""
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
    """The source of a board setting: the design file or the default."""
    source = next((d.source for d in batch.defaults if (d.where, d.name) == ("board", key)), None)
    return GIVEN if source is None else f"default: {source}"


def _sugar_from(batch: Batch, hives: Hives, setting: Setting) -> str:
    if hives.is_sugar_given:
        return "set under these hives"
    board = setting.board
    if hives.sugar == board.sugar and setting.box.frames == 10 and hives.format.startswith("10-frame "):
        return _from(batch, "sugar")
    box, whole = setting.box, _mass(board.sugar, setting.unit)
    fair = share_by_area(board.sugar, box.inside_length * box.inside_width, ten_frame_area())
    share = f"its share by area of the {whole} of an American 10-frame board, {_mass(fair, setting.unit)}"
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
    return "the next full board width" if setting.is_full_width else "cut to the height needed"


def sugar_section(batch: Batch, units: tuple[Unit, ...], is_brief: bool = False) -> Section:
    """The contents of each board; hives with identical boards share a row. The result is empty if no board is made.

    If `is_brief` is true, one paragraph lists each amount of sugar, with its rim and its hives.

    In the data, masses are in grams, lengths are text in the unit of the design, and water is in liters.
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
    sold = f"none; the boards are sold as {each.hives.form}"
    return (
        ("sugar", f"{_mass(setting.sugar, unit)} dry, {each.sugar_from}"),
        ("depth", f"{setting.wording.roughly(setting.depth)} at {setting.board.density}, {each.density_from}"),
        ("rim", f"{say(setting.height)} high, {each.height_from}; {needed}"),
        ("mix", sold if each.mix is None else f"{_mix_text(each.mix, unit)}, {each.mix_from}"),
    )


def _mix_text(mix: Mix, unit: str) -> str:
    bowl, water = _mass(mix.sugar / mix.bowls, unit), cups(mix.water_per_bowl.us_cups)
    if unit == "mm":
        water = f"{decimals(mix.water_per_bowl.us_cups * LITRES_PER_US_CUP * 1000, 0)} mL"
    vinegar = spoons(mix.vinegar_tablespoons / mix.bowls, unit)
    bowls = f"{mix.bowls} bowls, each" if mix.bowls > 1 else "1 bowl,"
    return f"{bowls} {bowl} of sugar, {water} of water, {vinegar} of white vinegar"


def _mass(mass: Mass, unit: str) -> str:
    return mass.text("kg" if unit == "mm" else "lb")
