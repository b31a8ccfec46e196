"""The season sheets of a batch: the packing station with its cartons, and a sheet of winter rounds for each apiary.

Each round has tick boxes: first for the guards, then for the checks in January.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import ceil
from pathlib import Path

from woodshop.design.batch import Batch, Unit
from woodshop.documents.lists import plain
from woodshop.documents.packet.cautions import caution_box
from woodshop.documents.packet.due import due_blocks
from woodshop.documents.packet.mix import spoons
from woodshop.documents.packet.packing import weight
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Column,
    Data,
    Document,
    Heading,
    KeepTogether,
    KeyFigures,
    KeyValues,
    PageBreak,
    Paragraph,
    Section,
    Table,
)
from woodshop.engineering.sugar import Mix
from woodshop.files.one_file import json_bytes
from woodshop.plan.work.weights import density_rows
from woodshop.reference.cautions import defer
from woodshop.reference.facts import fact
from woodshop.trade.season.packing import (
    PackingStation,
    Parcel,
    Turn,
    parcels_of,
    station_of,
    usual_table,
)
from woodshop.trade.season.rounds import Apiary, Round, apiaries
from woodshop.units.lengths import Length, Mass, decimals, millimetre
from woodshop.units.wording import date_text

_MOST_ROWS = 200  # hives with a line of their own; for more, the sheet is copied
_TICK = "[ ]"
_BLANK = "______________"
MITES = "Mite treatment: follow the product label and local rules."
_LOOK = (
    "Untouched: the bees are still below, on their own stores. Close the hive.",
    "Started: the bees are at the sugar. Close the hive, and check it again on the next mild day.",
    "Nearly gone: lay cakes over the bees now, as listed below, on a calm day. Work quickly.",
    "If you hear nothing when you knock, and feel no warmth under the cover, write it down. Close the entrance "
    "against robbing, and have "
    "the colony checked for disease before you use any of its equipment again.",
)


def rounds_json(sheets: tuple[Apiary, ...], guard_day: date | None) -> Data:
    """The sheets as JSON values."""
    return {
        "guard_day": guard_day,
        "apiaries": [
            {
                "name": sheet.name,
                "hives": sheet.hives,
                "groups": [
                    {
                        "name": each.name,
                        "count": each.hives.count,
                        "guard_made": each.has_guard,
                        "top_up": None
                        if each.topup is None
                        else {
                            "lies_on": each.topup.lies_on,
                            "left_over_sugar_in": None
                            if each.topup.left is None
                            else decimals(each.topup.left.inches, 4),
                            "left_when_gone_in": decimals(each.topup.bare.inches, 4),
                            "cakes": each.topup.cakes,
                            "thick_in": decimals(each.topup.thick.inches, 4),
                            "each_lb": decimals(each.topup.each.pounds, 2),
                        },
                    }
                    for each in sheet.rounds
                ],
            }
            for sheet in sheets
        ],
        "mites": MITES,
    }


def round_blocks(sheets: tuple[Apiary, ...], guard_day: date | None, unit: str) -> list[Block]:
    """All sheets, each on a page of its own, with lengths in `unit`."""
    blocks: list[Block] = []
    for n, sheet in enumerate(sheets):
        blocks += [PageBreak()] if n else []
        blocks += _sheet(sheet, guard_day, unit)
    return blocks


def _sheet(sheet: Apiary, guard_day: date | None, unit: str) -> list[Block]:
    day = _BLANK if guard_day is None else date_text(guard_day)
    slot, contrary = fact("opening.mouse_slot"), fact("opening.mouse_slot.contrary")
    return [
        Heading(f"Winter rounds: {plain(sheet.name)}", 1),
        *([Paragraph(_orders(sheet), small=True)] if _orders(sheet) else []),
        Paragraph("Date ______________     Outside ________     By ______________________"),
        Heading("Guard day", 2),
        Paragraph(
            f"Before mice move in, as nights turn cold: {day}. Look inside first, down to the floor. A mouse trapped "
            f"inside is worse than no guard. A slot of {slot.value} stops most mice [{slot.cite}]; others say that "
            f"mice get through {contrary.value} [{contrary.cite}]."
        ),
        *([] if not _made(sheet) else [Paragraph(f"Guards of this batch: {_made(sheet)}.", small=True)]),
        Heading("In January", 2),
        Bullets(_LOOK),
        KeepTogether((Heading("Cakes to top up with", 2), *_cakes(sheet, unit))),
        Paragraph(
            "Clear snow and dead bees from every entrance, the upper one too. Where snow drifts, lean a board in front "
            f"of it. {MITES}"
        ),
        _hives(sheet),
        *_more(sheet),
        Paragraph(
            "What to look for is common practice, no source. Head room "
            f"{fact('rim.head_room').value_in(unit)} over a cake [{fact('rim.head_room').cite}]; a cake as published "
            f"[{fact('sugar.block').cite}]. {defer('wintering')}",
            small=True,
        ),
    ]


def _orders(sheet: Apiary) -> str:
    """The numbers of the orders for the hardware of these hives."""
    numbers = dict.fromkeys(plain(each.hives.order) for each in sheet.rounds if each.hives.order)
    return f"Order{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}" if numbers else ""


def _made(sheet: Apiary) -> str:
    return ", ".join(plain(each.name) for each in sheet.rounds if each.has_guard)


def _cakes(sheet: Apiary, unit: str) -> list[Block]:
    columns = (
        Column("hives", weight=4),
        Column("over the sugar when packed", weight=4),
        Column("once the sugar is gone", weight=3),
        Column("cakes that fit, side by side", weight=7),
    )
    return [Table(columns, tuple(_cake_row(each, unit) for each in sheet.rounds))]


def _cake_row(each: Round, unit: str) -> tuple[str, ...]:
    name, top = plain(each.name), each.topup
    if top is None:
        return name, "", "", "no rim of this batch has space, so use a feeding shim"
    left = "not packed here" if top.left is None else f"{top.left.text(unit)} free"
    own = " of your own" if each.hives.form == "empty" and top.lies_on == "the mesh" else ""
    if not top.cakes:
        return (
            name,
            left,
            f"{top.bare.text(unit)} free",
            "none, because the space is too low or too small; use a feeding shim",
        )
    long, wide = (fact(f"sugar.block_{side}").length for side in ("length", "width"))
    size = f"{long.text(unit)} x {wide.text(unit)} x {top.thick.text(unit)}"
    cakes = "1 cake" if top.cakes == 1 else f"{top.cakes} cakes"
    words = f"{cakes} {size}, {weight(top.each, unit)} each, on {top.lies_on}{own}; keep channel and vents open"
    return name, left, f"{top.bare.text(unit)} free", words


def _hives(sheet: Apiary) -> Table:
    ticks = ("looked in", "guard on", "untouched", "started", "nearly gone", "cakes laid", "snow off")
    columns = (Column("hive", weight=8), *(Column(word, weight=4) for word in ticks), Column("remarks", weight=8))
    rows: list[tuple[str, ...]] = []
    for each in sheet.rounds:
        for n in range(1, each.hives.count + 1):
            if len(rows) < _MOST_ROWS:
                rows.append((f"{plain(each.name)}, hive {n}", *(_TICK for _ in ticks), ""))
    return Table(columns, tuple(rows))


def _more(sheet: Apiary) -> list[Block]:
    rest = sheet.hives - _MOST_ROWS
    return [] if rest <= 0 else [Paragraph(f"Copy this page for the {rest} more hives.")]


SEASON_FORMAT = "woodshop-season/1"


@dataclass(frozen=True, slots=True)
class Season:
    """The content of a batch's season sheets. `station` is None if no board is packed."""

    batch: Batch
    units: tuple[Unit, ...]
    station: PackingStation | None
    turns: tuple[Turn, ...]
    parcels: tuple[Parcel, ...]
    sheets: tuple[Apiary, ...]
    guard_day: date | None
    defaults: tuple[tuple[str, str, str], ...]  # name, value, source


def season_of(
    batch: Batch,
    units: tuple[Unit, ...],
    table: tuple[Length, Length] | None = None,
    tables: int | None = None,
    guard_day: date | None = None,
) -> Season:
    """The content of the season sheets of a batch.

    `table` is the length and width of a table; by default, the usual one. `tables` is the number of tables; by default,
    up to four are listed. `guard_day` is the day on which guards go on; if it is None, there is a blank to fill in.
    Raises InputError for a board that is larger than the table.
    """
    station = station_of(batch, units, table or usual_table(batch.unit), tables or 4)
    turns = () if station is None else station.turns if tables is None else station.turns[-1:]
    defaults = tuple(_defaults(station, table, guard_day, batch.unit))
    return Season(batch, units, station, tuple(turns), parcels_of(units), apiaries(units), guard_day, defaults)


def season_files(season: Season, data: Data) -> dict[str, bytes]:
    """`packing.pdf`, `rounds.pdf` and `season.json`, which holds the data of `season_section`."""
    batch = season.batch
    rounds = tuple(round_blocks(season.sheets, season.guard_day, batch.unit))
    packing = Document("Packing station and cartons", batch.pages.title, (Section("", _packing_blocks(season)),))
    return {
        "packing.pdf": write_pdf(packing, batch.pages.paper),
        "rounds.pdf": write_pdf(
            Document("Winter rounds", batch.pages.title, (Section("", rounds),)), batch.pages.paper
        ),
        "season.json": json_bytes(section_json(Section("", (), data))),
    }


def season_section(season: Season, folder: Path) -> Section:
    """The message after the files are written: packing, ordered cartons, rounds, and missing input."""
    unit, station = season.batch.unit, season.station
    blocks: list[Block] = [KeyValues((("folder", str(folder)),)), Heading("Packing", 3)]
    if station is None:
        blocks.append(Paragraph("No board is packed."))
    else:
        mix = station.mix
        water = f"{_litres(mix)} L" if unit == "mm" else f"{_gallons(mix)} gal"
        bags, vinegar = f"{station.bags} bags of {_bag(station, unit)}", spoons(mix.vinegar_tablespoons, unit)
        blocks.append(
            Paragraph(
                f"{station.boards} boards: {_mass(mix.sugar, 2, unit)} of sugar, {bags}, {water} of water, {vinegar} "
                f"of vinegar, {mix.bowls} bowls; {_mass(station.weight, 1, unit)} to lift in total"
            )
        )
        blocks.append(Bullets(tuple(map(_turn_text, season.turns))))
    blocks += [
        Heading("Cartons", 3),
        Bullets(tuple(_carton_text(each, unit) for each in season.parcels if each.ordered)),
        Heading("Rounds", 3),
        Bullets(tuple(f"{plain(sheet.name)}: {sheet.hives} hives" for sheet in season.sheets)),
        Heading("Defaults: values you did not set", 3),
        Bullets(tuple(f"{name} {value} [{source}]" for name, value, source in season.defaults)),
    ]
    data: Data = {
        "format": SEASON_FORMAT,
        "batch": season.batch.name,
        "unit": unit,
        "packing": None if station is None else _station_json(station, season.turns, unit),
        "cartons": [_parcel_json(each) for each in season.parcels],
        "rounds": rounds_json(season.sheets, season.guard_day),
        "defaults": [{"name": name, "value": value, "source": source} for name, value, source in season.defaults],
    }
    return Section("", tuple(blocks), data)


def _mass(mass: Mass, places: int, unit: str) -> str:
    return f"{decimals(mass.grams / 1000, places)} kg" if unit == "mm" else f"{decimals(mass.pounds, places)} lb"


def _litres(mix: Mix) -> str:
    return decimals(mix.water.litres, 2)


def _gallons(mix: Mix) -> str:
    return decimals(mix.water.us_cups / 16, 2)


def _bag(station: PackingStation, unit: str) -> str:
    return station.bag.text("kg" if unit == "mm" else "lb")


def _carton_text(parcel: Parcel, unit: str) -> str:
    weighed = parcel.is_weighed
    missing = f" without {', '.join(parcel.uncounted)}" if weighed and parcel.uncounted else ""
    written = (lambda length: length.up_to(millimetre(1)).number("mm")) if unit == "mm" else _inches
    size = " x ".join(map(written, parcel.size))
    mass = f"about {_mass(parcel.weight, 1, unit)}{missing}" if weighed else "weight not known"
    return (
        f"{parcel.ordered} of {parcel.what}, {parcel.form}, {parcel.fits}: {mass}, {size} {unit} inside, length and "
        f"girth {written(parcel.length_and_girth)} {unit}"
    )


def _turn_text(turn: Turn) -> str:
    tables = "1 table" if turn.tables == 1 else f"{turn.tables} tables"
    loads = "one load" if turn.loads == 1 else f"{turn.loads} loads"
    return f"{tables}: {loads}, {turn.days_least} to {turn.days_most} days, {turn.backs} backing boards"


def _defaults(
    station: PackingStation | None, table: tuple[Length, Length] | None, guard_day: date | None, unit: str
) -> Iterator[tuple[str, str, str]]:
    if station is not None:
        if table is None:
            rows = fact("season.table_length"), fact("season.table_width")
            yield "table", " x ".join(row.value_in(unit) for row in rows), rows[0].cite
        least, most = fact("season.drying_days_least"), fact("mix.drying_days")
        yield "days to dry", f"{least.value} to {most.value}", most.cite
    yield from ((row.key, row.value, row.cite) for row in density_rows())
    if guard_day is None:
        yield "guard day", "left blank to fill in", "it differs by place: before mice move in"


# ---- the station -------------------------------------------------------------------------------------


def _station_json(station: PackingStation, turns: Sequence[Turn], unit: str) -> Data:
    mix = station.mix
    return {
        "boards": station.boards,
        "sizes": [
            {
                "fits": flat.fits,
                "count": flat.count,
                "square_feet": decimals(flat.square_feet, 2),
                "sugar_lb": decimals(flat.sugar.pounds, 2),
                "weight_lb": decimals(flat.weight.pounds, 1),
            }
            for flat in station.flats
        ],
        "square_feet": decimals(station.area.mm2 / Fraction("304.8") ** 2, 1),
        "tables_for_all": len(station.tables),
        "boards_by_table": [sum(row.boards for row in rows) for rows in station.tables],
        "turns": [
            {
                "tables": each.tables,
                "loads": each.loads,
                "days_least": each.days_least,
                "days_most": each.days_most,
                "backs": each.backs,
            }
            for each in turns
        ],
        "sugar_lb": decimals(mix.sugar.pounds, 2),
        "sugar_kg": decimals(mix.sugar.grams / 1000, 2),
        "bag": _bag(station, unit),
        "bags": station.bags,
        "water_gal": _gallons(mix),
        "water_l": _litres(mix),
        "vinegar": spoons(mix.vinegar_tablespoons, unit),
        "bowls": mix.bowls,
        "weight_lb": decimals(station.weight.pounds, 1),
        "weight_kg": decimals(station.weight.grams / 1000, 1),
    }


def _packing_blocks(season: Season) -> tuple[Block, ...]:
    columns = (Column("default", weight=3), Column("value", weight=2), Column("source", weight=6))
    return (
        *([] if season.station is None else _station_blocks(season.station, season)),
        *_carton_blocks(season.parcels, season.batch),
        Heading("Defaults: values you did not set", 2),
        Table(columns, season.defaults, small=True),
    )


def _station_blocks(station: PackingStation, season: Season) -> list[Block]:
    batch, mix = season.batch, station.mix
    unit = batch.unit
    table = " x ".join(each.text(unit) for each in station.table)
    sizes = (
        Column("boards for", weight=5),
        *(Column(word, Align.RIGHT, weight=3) for word in ("boards", "one takes", "to lift, each", "to lift in total")),
    )
    rows = [
        (
            flat.fits,
            flat.count,
            f"{decimals(flat.square_feet, 2)} sq ft" if unit == "in" else f"{decimals(flat.area.mm2 / 10**6, 3)} m²",
            weight(flat.weight, unit),
            weight(flat.weight * flat.count, unit),
        )
        for flat in station.flats
    ]
    turns = (
        Column("tables", Align.RIGHT, weight=2),
        Column("loads", Align.RIGHT, weight=2),
        Column("days", Align.RIGHT, weight=2),
        Column("backing boards", Align.RIGHT, weight=2),
        Column("", weight=6),
    )
    turned = [
        (each.tables, each.loads, f"{each.days_least} to {each.days_most}", each.backs, "") for each in season.turns
    ]
    water = f"{_litres(mix)} L" if unit == "mm" else f"{_gallons(mix)} US gal"
    vinegar = spoons(mix.vinegar_tablespoons, unit)
    mixed = (
        f"{station.bags} bags of {_bag(station, unit)}; {water} of water; {vinegar} of white vinegar; "
        f"{mix.bowls} bowls. The packet has the mix, bowl by bowl."
    )
    return [
        Heading("The packing station", 1),
        KeyFigures(
            (
                ("boards to pack", str(station.boards)),
                ("sugar", weight(mix.sugar, unit)),
                ("to lift in total", weight(station.weight, unit)),
                ("tables for all at once", str(len(station.tables))),
            )
        ),
        Paragraph(mixed),
        Table(sizes, tuple(rows)),
        *due_blocks(batch, season.units),
        Heading("Tables and days", 2),
        Table(turns, tuple(turned)),
        Paragraph(
            f"Tables {table}, boards side by side in rows of like ones, each on its own backing board that stays "
            f"under it until it is hard, a day or two. Boards to a table: "
            f"{', '.join(str(sum(row.boards for row in rows)) for rows in station.tables)}.",
            small=True,
        ),
        Paragraph(
            "To lift: sugar and water fresh, wood and mesh, without backing board and screws. An estimate.", small=True
        ),
        caution_box("lifting"),
    ]


# ---- cartons -----------------------------------------------------------------------------------------


def _parcel_json(parcel: Parcel) -> Data:
    return {
        "what": parcel.what,
        "fits": parcel.fits,
        "form": parcel.form,
        "ordered": parcel.ordered,
        "weight_lb": decimals(parcel.weight.pounds, 1) if parcel.is_weighed else "not known",
        "weight_kg": decimals(parcel.weight.grams / 1000, 1) if parcel.is_weighed else "not known",
        "inside_in": [_inches(each) for each in parcel.size],
        "inside_mm": [_up(each.mm) for each in parcel.size],
        "girth_in": _inches(parcel.girth),
        "girth_mm": _up(parcel.girth.mm),
        "length_and_girth_in": _inches(parcel.length_and_girth),
        "length_and_girth_mm": _up(parcel.length_and_girth.mm),
        "not_weighed": list(parcel.uncounted),
    }


def _inches(length: Length) -> str:
    return _up(length.inches)


def _up(value: Fraction) -> str:
    """A number rounded up to four decimals, so that a carton is never too small for its contents."""
    return decimals(Fraction(ceil(value * 10_000), 10_000), 4)


def _carton_blocks(parcels: tuple[Parcel, ...], batch: Batch) -> list[Block]:
    unit = batch.unit
    mark = batch.saw.mark
    columns = (
        Column("what, for", weight=7),
        Column("form", weight=4),
        Column("ordered", Align.RIGHT, weight=2),
        Column("weight, about", Align.RIGHT, weight=3),
        Column("carton inside, at least", Align.RIGHT, weight=8),
        Column("length", Align.RIGHT, weight=3),
        Column("girth", Align.RIGHT, weight=3),
        Column("both", Align.RIGHT, weight=3),
    )
    rows = []
    for each in parcels:
        size = " x ".join(length.up_to(mark).number(unit) for length in each.size) + f" {unit}"
        numbers = [n.up_to(mark).text(unit) for n in (each.size[0], each.girth, each.length_and_girth)]
        what = f"{each.what}, {each.fits}"
        mass = weight(each.weight, unit) if each.is_weighed else "not known"
        rows.append((what, each.form, str(each.ordered or ""), mass, size, *numbers))
    missing = sorted({material for each in parcels for material in each.uncounted})
    left_out = f" No density is known for {', '.join(missing)}: not counted." if missing else ""
    return [
        Heading("Cartons", 1),
        Table(columns, tuple(rows), tuple(n for n, each in enumerate(parcels) if each.ordered)),
        Paragraph(
            f"One to a carton. The size fits the item alone, rounded up to {mark.text(unit)} (finer in season.json). "
            "Add room for padding, and weigh one packed carton before you buy postage. Weights are estimates from "
            f"density, without screws, glue, shavings and carton.{left_out} Strips lie within the walls, under the "
            "board if it is packed. An unassembled kit lies in layers, thickest at the bottom; items without walls "
            "count as one. Bold rows are ordered in that form.",
            small=True,
        ),
    ]
