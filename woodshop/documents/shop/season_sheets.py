"""The season's papers of a batch: the packing station with its cartons, and a sheet for each apiary's winter rounds."""

from datetime import date
from fractions import Fraction
from math import ceil
from pathlib import Path
from typing import Any

from woodshop.design.batch import Batch, Unit
from woodshop.documents.packet.assembly import caution_box
from woodshop.documents.packet.due import due_blocks
from woodshop.documents.packet.mix import spoons
from woodshop.documents.packet.packing import weight
from woodshop.documents.shop.round_sheets import round_blocks, rounds_told
from woodshop.documents.workbook import plain
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import Align, Block, Column, Document, Heading, KeyFigures, Paragraph, Table
from woodshop.files.writing import json_bytes
from woodshop.reference.facts import fact
from woodshop.trade.season.packing_station import Station, station_of, usual_table
from woodshop.trade.season.rounds import apiaries
from woodshop.trade.season.shipping import Parcel, density_rows, parcels_of
from woodshop.units.lengths import Length, decimals

SEASON_FORMAT = "woodshop-season/1"
_MASSES = ("sugar", "weight")


def season_files(told: dict[str, Any], batch: Batch, documents: tuple[Document, ...]) -> dict[str, bytes]:
    """`packing.pdf`, `rounds.pdf` and `season.json`."""
    names = ("packing.pdf", "rounds.pdf")
    files = {name: write_pdf(made, batch.paper) for name, made in zip(names, documents, strict=True)}
    return files | {"season.json": json_bytes(told)}


def season_of(
    batch: Batch,
    units: tuple[Unit, ...],
    table: tuple[Length, Length] | None = None,
    tables: int | None = None,
    guard_day: date | None = None,
) -> tuple[dict[str, Any], tuple[Document, ...]]:
    """The sums as plain values, and the two documents.

    `table` is length and width of a table, else the usual; `tables` is how many there are, else up to four are told.
    `guard_day` is the day that guards go on, left to be written in where it is not given.
    Raises InputError for a board that is larger than the table.
    """
    station = station_of(batch, units, table or usual_table(), tables or 4)
    parcels, sheets = parcels_of(units), apiaries(units)
    told = {
        "format": SEASON_FORMAT,
        "batch": batch.name,
        "unit": batch.unit,
        "packing": None if station is None else _station_told(station, tables, batch.unit),
        "cartons": [_parcel_told(each) for each in parcels],
        "rounds": rounds_told(sheets, guard_day),
        "defaults": _defaults(station, table, guard_day),
    }
    packing = Document(
        "Packing station and cartons", batch.title, _packing_blocks(station, parcels, batch, units, told)
    )
    rounds = Document("Winter rounds", batch.title, tuple(round_blocks(sheets, guard_day, batch.unit)))
    return told, (packing, rounds)


def season_summary(told: dict[str, Any], folder: Path) -> tuple[str, ...]:
    """What to say when the files are written."""
    lines = [f"folder     {folder}"]
    if told["packing"] is None:
        lines.append("packing    no board is packed")
    else:
        packing = told["packing"]
        metric = told["unit"] == "mm"
        sugar, lift = (f"{packing[f'{key}_kg']} kg" if metric else f"{packing[f'{key}_lb']} lb" for key in _MASSES)
        water = f"{packing['water_l']} L" if metric else f"{packing['water_gal']} gal"
        lines.append(
            f"packing    {packing['boards']} boards: {sugar} of sugar, {packing['bags']} bags of {packing['bag']}, "
            f"{water} of water, {packing['vinegar']} of vinegar, {packing['bowls']} bowls; {lift} to lift in all"
        )
        for turn in packing["turns"]:
            lines.append(f"           {_turn_words(turn)}")
    lines += [_carton_line(each, told["unit"]) for each in told["cartons"] if each["ordered"]]
    for sheet in told["rounds"]["apiaries"]:
        lines.append(f"rounds     {plain(sheet['name'])}: {sheet['hives']} hives")
    lines += [f"taken      {each['name']} {each['value']} [{each['source']}]" for each in told["defaults"]]
    return tuple(lines)


def _carton_line(parcel: dict[str, Any], unit: str) -> str:
    mass = f"{parcel['weight_kg']} kg" if unit == "mm" else f"{parcel['weight_lb']} lb"
    known = parcel["weight_lb"] != "not known"
    missing = f" without {', '.join(parcel['not_weighed'])}" if known and parcel["not_weighed"] else ""
    size = " x ".join(parcel[f"inside_{unit}"])
    return (
        f"carton     {parcel['ordered']} of {parcel['what']}, {parcel['form']}, {parcel['fits']}: "
        f"{f'about {mass}{missing}' if known else 'weight not known'}, {size} {unit} inside, length and girth "
        f"{parcel[f'length_and_girth_{unit}']} {unit}"
    )


def _turn_words(turn: dict[str, Any]) -> str:
    tables = "1 table" if turn["tables"] == 1 else f"{turn['tables']} tables"
    loads = "one load" if turn["loads"] == 1 else f"{turn['loads']} loads"
    days = f"{turn['days_least']} to {turn['days_most']} days"
    return f"{tables}: {loads}, {days}, {turn['backs']} flat backs"


def _defaults(
    station: Station | None, table: tuple[Length, Length] | None, guard_day: date | None
) -> list[dict[str, str]]:
    listed = []
    if station is not None:
        if table is None:
            rows = fact("season.table_length"), fact("season.table_width")
            listed.append(("table", f"{rows[0].value} x {rows[1].value}", rows[0].cite))
        least, most = fact("season.drying_days_least"), fact("mix.drying_days")
        listed.append(("days to dry", f"{least.value} to {most.value}", most.cite))
    listed += [(row.key, row.value, row.cite) for row in density_rows()]
    if guard_day is None:
        listed.append(("guard day", "left to be written in", "it differs by place: before mice move in"))
    return [{"name": name, "value": value, "source": source} for name, value, source in listed]


# ---- the station -------------------------------------------------------------------------------------


def _station_told(station: Station, tables: int | None, unit: str) -> dict[str, Any]:
    mix = station.mix
    turns = [each for each in station.turns if tables is None or each is station.turns[-1]]
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
        "bag": station.bag.text("kg" if unit == "mm" else "lb"),
        "bags": station.bags,
        "water_gal": decimals(mix.water.us_cups / 16, 2),
        "water_l": decimals(mix.water.litres, 2),
        "vinegar": spoons(mix.vinegar_tablespoons),
        "bowls": mix.bowls,
        "weight_lb": decimals(station.weight.pounds, 1),
        "weight_kg": decimals(station.weight.grams / 1000, 1),
    }


def _packing_blocks(
    station: Station | None, parcels: tuple[Parcel, ...], batch: Batch, units: tuple[Unit, ...], told: dict[str, Any]
) -> tuple[Block, ...]:
    blocks: list[Block] = []
    if station is not None:
        blocks += _station_blocks(station, batch, units, told["packing"])
    blocks += _carton_blocks(parcels, batch)
    rows = tuple((each["name"], each["value"], each["source"]) for each in told["defaults"])
    columns = (Column("taken for granted", weight=3), Column("value", weight=2), Column("source", weight=6))
    return (*blocks, Heading("What was not given", 2), Table(columns, rows, small=True))


def _station_blocks(station: Station, batch: Batch, units: tuple[Unit, ...], told: dict[str, Any]) -> list[Block]:
    unit = batch.unit
    table = " x ".join(each.text(unit) for each in station.table)
    sizes = (
        Column("boards for", weight=5),
        *(Column(word, Align.RIGHT, weight=3) for word in ("boards", "one takes", "to lift, each", "to lift in all")),
    )
    rows = [
        (
            flat.fits,
            str(flat.count),
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
        Column("flat backs", Align.RIGHT, weight=2),
        Column("", weight=6),
    )
    turned = [
        (str(t["tables"]), str(t["loads"]), f"{t['days_least']} to {t['days_most']}", str(t["backs"]), "")
        for t in told["turns"]
    ]
    water = f"{told['water_l']} L" if unit == "mm" else f"{told['water_gal']} US gal"
    mixed = (
        f"{told['bags']} bags of {told['bag']}; {water} of water; {told['vinegar']} of white "
        f"vinegar; {told['bowls']} bowls. The mix is told in the packet, bowl by bowl."
    )
    return [
        Heading("The packing station", 1),
        KeyFigures(
            (
                ("boards to pack", str(station.boards)),
                ("sugar", weight(station.mix.sugar, unit)),
                ("to lift in all", weight(station.weight, unit)),
                ("tables for all at once", str(len(station.tables))),
            )
        ),
        Paragraph(mixed),
        Table(sizes, tuple(rows)),
        *due_blocks(batch, units),
        Heading("Tables and days", 2),
        Table(turns, tuple(turned)),
        Paragraph(
            f"Tables {table}, boards side by side in rows of like ones, each on a flat back of its own that stays "
            f"under it until it is hard, a day or two. Boards to a table: "
            f"{', '.join(str(n) for n in told['boards_by_table'])}.",
            small=True,
        ),
        Paragraph(
            "To lift: sugar and water fresh, wood and mesh; the flat back and screws are not counted. An estimate.",
            small=True,
        ),
        caution_box("lifting"),
    ]


# ---- cartons -----------------------------------------------------------------------------------------


def _parcel_told(parcel: Parcel) -> dict[str, Any]:
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
    """To four places, never less than it is: a carton must hold what it is for."""
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
    left_out = f" No density is known of {', '.join(missing)}: not counted." if missing else ""
    return [
        Heading("Cartons", 1),
        Table(columns, tuple(rows), tuple(n for n, each in enumerate(parcels) if each.ordered)),
        Paragraph(
            f"One to a carton. The size holds the thing alone, rounded up to {mark.text(unit)} (finer in season.json): "
            "add what you pad it with, and weigh one packed carton before you buy postage. Weights are estimates by "
            f"density, without screws, glue, shavings and carton.{left_out} Strips lie within the walls, under the "
            "board where it is packed. A flat kit lies in layers, thickest below; what has no walls is told as one. "
            "Strong rows are ordered in that form.",
            small=True,
        ),
    ]
