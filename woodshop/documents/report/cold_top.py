"""The page about the top of the hive in winter: temperatures, condensation, and both opinions on top ventilation."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from woodshop.checks.cold import WOOD, Month, Top, boundary_name, cold_tops, depth_of, what_if
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Column,
    Data,
    Heading,
    KeepTogether,
    Paragraph,
    Section,
    Table,
)
from woodshop.engineering.heat import HeatPath, water_given_off
from woodshop.hardware.registry import BoardPart
from woodshop.plan.values import PlannedBatch
from woodshop.reference.cautions import cautions, defer
from woodshop.reference.facts import fact
from woodshop.units.lengths import Mass, decimals
from woodshop.units.wording import LengthUnit, wording_of

_WATER = 4  # the column that says where water condenses first
_IN_LEAD = ("steady state", "one way")


def how_to_get_it(unit: LengthUnit) -> str:
    """What to give for an estimate of heat and moisture.

    >>> how_to_get_it("mm")
    'Give outside = "-6 C", or twelve temperatures from January, under [climate] in the design.'
    """
    cold = "-6 C" if unit == "mm" else "21 F"
    return f'Give outside = "{cold}", or twelve temperatures from January, under [climate] in the design.'


_LEAD = (
    "A steady-state estimate: the same weather and the same bees for days, heat going straight up, no drafts. It "
    "does not predict a given night; use it to compare tops."
)


@dataclass(frozen=True, slots=True)
class _Alike:
    """A hive top as shown in the report. Tops with the same figures share one entry, which lists all their hives."""

    top: Top
    rows: tuple[tuple[str, ...], ...]
    tops: tuple[Top, ...]


def _alike(tops: Iterable[Top], unit: LengthUnit) -> list[_Alike]:
    alike: dict[tuple[object, ...], list[tuple[Top, tuple[tuple[str, ...], ...]]]] = {}
    for top in tops:
        pairs = zip(top.months, top.other, strict=True)
        warm = top.climate.hive_air.celsius
        rows = tuple(_row(top, *pair, unit) for pair in pairs if pair[0].cold.outside.celsius < warm)
        figures = tuple((*row[:_WATER], *row[_WATER + 1 :]) for row in rows)
        key = (figures, tuple(slab.stuff for slab in top.column.slabs), top.column.vents)
        alike.setdefault(key, []).append((top, rows))
    return [_as_one(same) for same in alike.values()]


def _as_one(same: list[tuple[Top, tuple[tuple[str, ...], ...]]]) -> _Alike:
    """Combines tops with the same figures. Each month lists every place where water condenses first in any top."""
    top = replace(same[0][0], places=tuple(place for each, _ in same for place in each.places))
    months = zip(*(rows for _, rows in same), strict=True)
    rows = tuple((*month[0][:_WATER], _any_of(month), *month[0][_WATER + 1 :]) for month in months)
    return _Alike(top, rows, tuple(each for each, _ in same))


def _any_of(month: tuple[tuple[str, ...], ...]) -> str:
    return "; ".join(dict.fromkeys(place for row in month for place in row[_WATER].split("; ")))


def _row(top: Top, month: Month, other: Month, unit: LengthUnit) -> tuple[str, ...]:
    # an open top without shavings has no ceiling to keep dry, so show what a closed top needs
    wanted = other if top.is_open and not top.takes_drip else month
    return (
        month.cold.month,
        month.cold.outside.given,
        _under(month.path, unit),
        _under(month.by_the_way, unit),
        first_water(month),
        _wanted(wanted, unit),
    )


def _under(path: HeatPath | None, unit: LengthUnit) -> str:
    if path is None:
        return "open"
    return wording_of(unit).temperature(path.underside) + ("" if path.is_dry else ", WET")


def first_water(month: Month) -> str:
    """The places where water condenses first, over the sugar or the passage next to it; places over the bees first."""
    wet = [path.wet_first for path in month.paths if path.wet_first is not None]
    wet.sort(key=lambda face: not face.below.startswith("air, "))
    return "; ".join(dict.fromkeys(boundary_name(face) for face in wet)) or "nowhere"


def _wanted(month: Month, unit: LengthUnit) -> str:
    if month.shavings is None:
        return "none does" if month.paths else "-"
    return depth_of(month.shavings, unit).text(unit) if month.shavings else "none needed"


def layer_text(tops: Sequence[Top], unit: LengthUnit) -> str:
    """The layers over the bees, from bottom to top, and the opening. If combined tops differ, every size is listed."""
    words = []
    for alike in zip(*(_layers(top, unit) for top in tops), strict=True):
        name, _, opened = alike[0]
        sizes = [size for size in dict.fromkeys(size for _, size, _ in alike) if size]
        *others, last = sizes or [""]
        first = ", ".join(each.rpartition(" ")[0] for each in others)
        words.append(f"{name} {first} or {last}" if others else f"{name} {last}".rstrip())
        words[-1] += opened
    return "; ".join(words)


def _layers(top: Top, unit: LengthUnit) -> Iterator[tuple[str, str, str]]:
    """Each layer's name, its thickness ("" for cloth), and its opening."""
    for index, slab in enumerate(top.column.slabs):
        if slab.stuff in ("mesh", "plastic") or (not index and slab.stuff == "air"):
            continue
        if top.climate.foam is not None and slab.name == "cover top":
            yield "foam", top.climate.foam.text(unit), ""
        size = "" if slab.stuff == "cloth" else _about(slab.thick, unit)
        yield slab.name, size, f", open to outside by {top.column.vents}" if index == top.column.vented else ""


def _about(length: Any, unit: LengthUnit) -> str:
    return f"{round(length.mm)} mm" if unit == "mm" else f"{decimals(length.inches, 2)} in"


def way_text(top: Top) -> str:
    """A sentence about the effect of the cover."""
    if not top.is_open:
        taken = "is absorbed by the shavings" if top.takes_drip else "drips back"
        return f"The top is closed: water that condenses under it {taken}."
    cold = f"Air gets out through the {top.column.vents}, so the cover is as cold as outside, and drips"
    if top.takes_drip:
        return (
            f"{cold}; the shavings absorb the drip. Check them at midwinter. Replace them if wet below the top layer."
        )
    return f"{cold} on the layer below, because no shavings absorb the drip."


def school_text(top: Top, unit: LengthUnit) -> str:
    """A text that compares an open top with a closed top in the coldest month."""
    now, other = (_school(month, unit) for month in (top.coldest, top.coldest_other))
    words = (now, other) if top.is_open else (other, now)
    built = (", as built", "") if top.is_open else ("", ", as built")
    return f"Open at the top{built[0]}: {words[0]}. Closed{built[1]}: {words[1]}."


def _school(month: Month, unit: LengthUnit) -> str:
    words = [f"surface over the bees {_under(month.path, unit)}"] if month.path is not None else []
    words.append("over channel and vents " + _under(month.by_the_way, unit) if month.by_the_way else "")
    return ", ".join(
        filter(None, (*words, f"water first {first_water(month)}" if month.paths else "no layer over the bees is warm"))
    )


def water_text(top: Top, sugars: Sequence[Mass], unit: LengthUnit) -> str:
    """Sentences about the water that a colony gives off in these months as it eats honey, and a board's sugar too."""
    cold = [month.cold for month in top.months if month.cold.outside.celsius < top.climate.hive_air.celsius]
    honey = sum((each.honey for each in cold), Mass(Fraction(0)))
    least, most = water_given_off(honey=float(honey.grams) / 1000)
    span = f"{_mass(least, unit)} to {_mass(most, unit)}"
    eaten = f"{_mass(float(honey.grams) / 1000, unit)} of honey in {_count(cold)}"
    words = f"A colony that eats {eaten} gives off {span} of water"
    if not sugars:
        return f"{words}."
    more = []
    for sugar in sugars:
        kilograms = float(sugar.grams) / 1000
        more.append(f"{_mass(water_given_off(sugar=kilograms)[1], unit)} more for {_mass(kilograms, unit)}")
    return f"{words}; for the sugar on a board {', '.join(more)}."


def _count(cold: list[Any]) -> str:
    return "the cold" if len(cold) == 1 and cold[0].month == "the cold" else f"these {len(cold)} months"


def _mass(kilograms: float, unit: LengthUnit) -> str:
    value, name = (kilograms, "kg") if unit == "mm" else (kilograms / 0.45359237, "lb")
    return f"{value:.1f}".removesuffix(".0") + f" {name}"


def air_text(top: Top, unit: LengthUnit) -> str:
    """A sentence about the air over the bees, as assumed in the calculation."""
    climate = top.climate
    dew = next((path.dew_point for month in top.months for path in month.paths), None)
    said = f"Air over the bees: {climate.hive_air.given} at {climate.humidity * 100:g} % humidity"
    return said if dew is None else f"{said}, its dew point {wording_of(unit).temperature(dew)}"


def cold_section(tops: tuple[Top, ...], unit: LengthUnit) -> Section:
    """Each kind of top in its coldest month. If there is no climate, there are no blocks.

    In the data, temperatures are in °C and shavings in mm; missing values are None.
    """
    blocks: list[Block] = []
    for shown in _alike(tops, unit):
        top, month = shown.top, shown.top.coldest
        blocks.append(Heading("; ".join(top.places), 3))
        if top.is_cold:
            coldest = f"{month.cold.month}, {month.cold.outside.given} outside: {_school(month, unit)}"
            blocks.append(Bullets((coldest, way_text(top))))
        else:
            blocks.append(Bullets(("it is never colder outside than over the bees",)))
    rows: list[Data] = [
        {
            "hives": top.places,
            "open": top.column.vents,
            "shavings_mm": float(top.column.thick("shavings").mm),
            "months": [
                {
                    "month": month.cold.month,
                    "outside": round(month.cold.outside.celsius, 1),
                    "over_the_bees": None if month.path is None else round(month.path.underside, 1),
                    "over_channel_and_vents": None
                    if month.by_the_way is None
                    else round(month.by_the_way.underside, 1),
                    "dew_point": None if not month.paths else round(month.paths[0].dew_point, 1),
                    "water_first": first_water(month),
                    "shavings_wanted_mm": None if month.shavings is None else round(month.shavings * 1000, 1),
                }
                for month in top.months
            ],
        }
        for top in tops
    ]
    air = f" {air_text(tops[0], unit)}" if tops else ""
    return Section(f"The top in winter, a steady-state estimate.{air}", tuple(blocks), {"cold": rows})


def cold_chapter(planned: PlannedBatch) -> Section:
    """The page of the report about cold weather. The result is empty if there is no climate."""
    tops, unit = cold_tops(planned.units, planned.batch.conditions.climate), planned.batch.unit
    if not tops:
        return Section("", ())
    blocks: list[Block] = [
        Paragraph(f"{_LEAD} {air_text(tops[0], unit)}."),
    ]
    columns = (
        Column("month", weight=3),
        Column("outside", Align.RIGHT, weight=2),
        Column("surface over the bees", Align.RIGHT, weight=3),
        Column("over channel and vents", Align.RIGHT, weight=3),
        Column("where water condenses first", weight=6),
        Column("shavings to keep both dry", weight=3),
    )
    shown = _alike(tops, unit)
    for each in shown:
        words: list[Block] = [
            Heading("; ".join(each.top.places), 2),
            Paragraph(f"Over the bees, upward: {layer_text(each.tops, unit)}. {way_text(each.top)}"),
        ]
        if each.rows:
            words.append(Table(columns, each.rows, small=True))
            words.append(Paragraph(f"{each.top.coldest.cold.month}. {school_text(each.top, unit)}", lead="Both ways."))
        else:
            words.append(Paragraph("It is never colder outside than over the bees."))
        blocks.append(KeepTogether(tuple(words)))
    (row,) = (row for row in cautions("wintering") if "top ventilation" in row.text)
    schools = (
        f"{row.text} ({row.cite}). An open top lets damp air out before it condenses, but loses heat; a closed "
        "and insulated one keeps the surface above the dew point, so water condenses elsewhere, such as low on the "
        "walls. The figures show the effect on the surface over the bees, not which one suits your climate."
    )
    sugars = tuple(
        dict.fromkeys(u.line.setting.sugar for u in planned.units if u.line.item.board_part is BoardPart.RIM)
    )
    blocks += [
        Heading("Two schools of thought", 2),
        Paragraph(schools),
        Heading("Water given off", 2),
        Paragraph(
            f"{water_text(tops[0], sugars, unit)} Source: {fact('heat.honey_to_a_gallon').cite}, and arithmetic."
        ),
        Heading("Basis of the estimate", 2),
        Bullets(tuple(_ifs(shown[0].top, unit))),
        Paragraph(" ".join((*_assumed(tops), defer("wintering"))), small=True),
    ]
    return Section("The top of the hive in winter", tuple(blocks))


def _ifs(top: Top, unit: LengthUnit) -> Iterator[str]:
    for each in what_if(top, unit):
        dew = next((f" (dew point {wording_of(unit).temperature(path.dew_point)})" for path in each.month.paths), "")
        wanted = f"shavings to keep both dry: {_wanted(each.month, unit)}"
        yield f"With {each.words}{dew}: {_school(each.month, unit)}; {wanted}."


def _assumed(tops: tuple[Top, ...]) -> Iterator[str]:
    """Every assumption of the heat paths, without duplicates."""
    paths = (path for top in tops for month in top.months for path in month.paths)
    assumptions = dict.fromkeys(words for path in paths for words in path.assumptions)
    yield from (f"{words[:1].upper()}{words[1:]}." for words in assumptions if not words.startswith(_IN_LEAD))
    pine = fact(WOOD).what.split(":")[0].lower()
    yield f"All wood counts as {pine}. Cloth, mesh, a metal cover and air leaving by the upper entrance are ignored."
