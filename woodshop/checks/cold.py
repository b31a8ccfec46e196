"""Estimates the tops of the hives in winter, in a steady state: temperatures, dew points, and depths of shavings."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from woodshop.checks.kept import Kept
from woodshop.design.batch import Unit
from woodshop.design.make_units import stacks_of, units_by_hives
from woodshop.design.settings.conditions import Climate, Cold
from woodshop.engineering.heat import (
    HeatPath,
    Layer,
    LayerBoundary,
    air_space,
    film,
    foam,
    heat_path,
    shavings,
    sugar,
    wood,
)
from woodshop.engineering.heat import shavings_wanted as shavings_for
from woodshop.errors import InputError
from woodshop.findings import Finding, Severity
from woodshop.hardware.catalogue import items
from woodshop.hive.creatures import PartName
from woodshop.hive.passages.top_layers import HeatColumn, Slab, columns_over
from woodshop.hive.stacking.place import TierKind
from woodshop.reference.facts import fact
from woodshop.units.lengths import Length, inch, millimetre
from woodshop.units.wording import LengthUnit, Wording

WOOD = "wood.gravity_eastern_white_pine"
_THIN = ("cloth", "mesh", "plastic")  # these add no resistance to heat


@dataclass(frozen=True, slots=True)
class Month:
    """One month: the heat `path` over the bees, and `by_the_way`, the path over channel and vents without sugar.

    A path is None if it is not colder outside than over the bees. `by_the_way` is also None if its column does not
    exist or is open to the outside. `shavings` is the least depth of shavings, in meters, that keeps both surfaces from
    falling below the dew point. It is 0 if no shavings are needed, and None if no depth is enough or there is no path.
    """

    cold: Cold
    path: HeatPath | None
    by_the_way: HeatPath | None
    shavings: float | None

    @property
    def paths(self) -> tuple[HeatPath, ...]:
        """The heat paths that exist."""
        return tuple(path for path in (self.path, self.by_the_way) if path is not None)

    @property
    def is_dry(self) -> bool:
        """Whether every surface is warmer than the dew point."""
        return all(path.is_dry for path in self.paths)


@dataclass(frozen=True, slots=True)
class Top:
    """One kind of top: its hives, columns and months.

    `other` are the months of the same top with open vents closed or, if none are open, with its highest air space
    opened.

    `columns` are the column over the bees and, if it contains sugar, the column over the channel and the vents.
    """

    places: tuple[str, ...]
    columns: tuple[HeatColumn, ...]
    climate: Climate
    months: tuple[Month, ...]
    other: tuple[Month, ...]

    @property
    def column(self) -> HeatColumn:
        """The column over the bees."""
        return self.columns[0]

    @property
    def is_cold(self) -> bool:
        """Whether it is colder outside than over the bees in any month."""
        return self.coldest.cold.outside.celsius < self.climate.hive_air.celsius

    @property
    def takes_drip(self) -> bool:
        """Whether there are shavings under the cover, which absorb drips."""
        return bool(self.column.thick("shavings"))

    @property
    def is_open(self) -> bool:
        """Whether air leaves above the bees, which makes the cover cold."""
        return self.column.vented is not None

    @property
    def coldest(self) -> Month:
        """The coldest month for this top."""
        return min(self.months, key=lambda month: month.cold.outside.celsius)

    @property
    def coldest_other(self) -> Month:
        """The coldest month among `other`."""
        return min(self.other, key=lambda month: month.cold.outside.celsius)


def cold_tops(units: Iterable[Unit], climate: Climate | None, kept: Kept | None = None) -> tuple[Top, ...]:
    """Every kind of top that the hives of these units have. The result is empty if no climate is given.

    Tops that are in `kept` are not calculated again.
    """
    if climate is None:
        return ()
    kept = Kept() if kept is None else kept
    groups = units_by_hives(units)
    alike: dict[tuple[object, ...], tuple[tuple[HeatColumn, ...], list[str]]] = {}
    for group in groups.values():
        for stack in stacks_of(group):
            columns = columns_over(stack)
            if columns:
                key = tuple((tuple((s.stuff, s.thick) for s in c.slabs), c.vents, c.vented) for c in columns)
                alike.setdefault(key, (columns, []))[1].append(stack.name)
    return tuple(replace(kept.of(top_of, columns, climate), places=tuple(places)) for columns, places in alike.values())


def top_of(columns: tuple[HeatColumn, ...], climate: Climate, places: tuple[str, ...] = ()) -> Top:
    """One hive top in each month of a climate. `places` are the names of its hives."""
    turned = tuple(replace(c, vented=_highest_air(c) if c.vented is None else None) for c in columns)
    return Top(places, columns, climate, _months(columns, climate), _months(turned, climate))


def _highest_air(column: HeatColumn) -> int | None:
    return max((n for n, slab in enumerate(column.slabs) if slab.stuff == "air"), default=None)


def _months(columns: tuple[HeatColumn, ...], climate: Climate) -> tuple[Month, ...]:
    """Each month of a climate that is colder than its season needs no more than, under these columns."""
    layers = [(layers_of(each, climate), layers_of(each, climate, with_shavings=False)) for each in columns]
    return tuple(_month(layers, climate, cold) for cold in climate.cold)


def _month(columns: list[tuple[list[Layer], list[Layer]]], climate: Climate, cold: Cold) -> Month:
    """A month under columns of these layers; each column is given with its shavings and without."""
    inside, outside = climate.hive_air.celsius, cold.outside.celsius
    if outside >= inside:
        return Month(cold, None, None, None)
    paths: list[HeatPath | None] = []
    depths: list[float | None] = []
    for layers, bare in columns:
        paths.append(heat_path(layers, inside, outside, climate.humidity) if layers else None)
        if layers and bare:
            depths.append(shavings_for(bare, inside, outside, humidity=climate.humidity))
    known = [depth for depth in depths if depth is not None]
    shavings = max(known) if known and len(known) == len(depths) else None
    return Month(cold, paths[0], paths[1] if len(paths) > 1 else None, shavings)


def layers_of(column: HeatColumn, climate: Climate, with_shavings: bool = True) -> list[Layer]:
    """The layers from the air film over the bees up to the outside film, or up to the first space open to the outside.

    The air below the first slab belongs to the bees. If that air is open to the outside, there are no layers.
    """
    layers = [film("inside, heat up")]
    for n, slab in enumerate(column.slabs):
        if n == column.vented:
            bare = not with_shavings and column.thick("shavings")  # the place where shavings could be
            return [*layers, replace(film("inside, heat up"), name="open air")] if len(layers) > 1 or bare else []
        if len(layers) == 1 and slab.stuff == "air":
            continue
        if climate.foam is not None and slab.name == PartName.COVER_TOP:
            layers.append(foam(climate.foam_kind, climate.foam))
        if slab.stuff not in _THIN and (with_shavings or slab.stuff != "shavings"):
            layers.append(_layer(slab))
    return [*layers, film("outside")]


def _layer(slab: Slab) -> Layer:
    if slab.stuff == "air":
        return air_space(slab.thick)
    if slab.stuff == "sugar":
        return replace(sugar(slab.thick), name=slab.name)
    if slab.stuff == "shavings":
        return shavings(slab.thick)
    return replace(wood(slab.thick, float(fact(WOOD).number)), name=slab.name)


@dataclass(frozen=True, slots=True)
class If:
    """The effect of another assumption: the assumption as text, and the coldest month if it is true."""

    words: str
    month: Month


def what_if(top: Top, unit: LengthUnit) -> tuple[If, ...]:
    """The coldest month if the air over the bees were 5 °C warmer, and if it had 85 % humidity.

    The text is in `unit`.
    """
    climate, cold = top.climate, top.coldest.cold
    warmer = replace(climate.hive_air, celsius=climate.hive_air.celsius + 5.0)
    found = []
    for words, other in (
        (f"the air over the bees {'5 °C' if unit == 'mm' else '9 °F'} warmer", replace(climate, hive_air=warmer)),
        ("that air at 85 % humidity", replace(climate, humidity=0.85)),
    ):
        try:
            found.append(If(words, *_months(top.columns, replace(other, cold=(cold,)))))
        except InputError:  # the air is outside the range of the formulas
            continue
    return tuple(found)


_SOURCE = "steady state; saturation after Hyland and Wexler, as ASHRAE Fundamentals gives it"
_DEEPEST = inch(8)  # the most that a quilt box can hold


def check_cold(tops: tuple[Top, ...], wording: Wording) -> list[Finding]:
    """Finds tops with a surface below the dew point in the coldest month, or with a cover that drips on the sugar."""
    return [_found(top, said, wording) for top in tops if (said := _amiss(top, wording))]


def _amiss(top: Top, wording: Wording) -> str:
    """A description of what is wrong with a hive top in its coldest month, or "" if nothing is wrong."""
    month = top.coldest
    if not top.is_cold:
        return ""
    said = [wet_underside(path, where, wording) for path, where in over(month) if not path.is_dry]
    if top.is_open and not top.takes_drip:
        said.append("the cover is as cold as the air outside, and nothing under it absorbs the water that drips")
    return "; ".join(said)


def over(month: Month) -> list[tuple[HeatPath, str]]:
    """The heat paths that exist in a month, each with its place as text."""
    places = ("over the bees", "over channel and vents")
    paths = (month.path, month.by_the_way)
    return [(path, place) for path, place in zip(paths, places, strict=True) if path is not None]


def wet_underside(path: HeatPath, where: str, wording: Wording) -> str:
    """A description of a surface that is too cold."""
    dew, there = wording.temperature(path.dew_point), wording.temperature(path.underside)
    return f"the surface {where} is {there}, below the dew point of the hive's air ({dew})"


def boundary_name(face: LayerBoundary) -> str:
    """The place of the boundary between two layers, described with parts that a person can find in the hive."""
    if face.below.startswith("air, "):
        return f"on the underside of the {face.above}"
    if face.below == "air space":
        return f"under the {face.above}"
    if face.below == "shavings":
        return "high in the shavings"
    return f"on top of the {face.below}"


def depth_of(metres: float, unit: LengthUnit) -> Length:
    """The depth of shavings, rounded up to 1/2 in or 10 mm; `metres` is the exact depth."""
    mark = millimetre(10) if unit == "mm" else inch("1/2")
    return millimetre(str(round(metres * 1000, 6))).up_to(mark)


def _found(top: Top, said: str, wording: Wording) -> Finding:
    month = top.coldest
    when = "" if month.cold.month == "the cold" else f" in {month.cold.month}"
    change, remedy = _change(top, month, wording)
    return Finding(
        "dew-over-the-bees",
        Severity.NOTE,
        "; ".join(top.places),
        f"at {month.cold.outside.given} outside{when}, {said} (an estimate)",
        "surfaces warmer than the dew point, or shavings that absorb the drip",
        _SOURCE,
        change,
        remedy,
    )


def _change(top: Top, month: Month, wording: Wording) -> tuple[str, tuple[tuple[str, str], ...]]:
    if month.shavings is None and not (top.is_open and not top.takes_drip):
        return (
            "No depth of shavings prevents this, because the air over the bees is too damp. Let the damp air out.",
            (),
        )
    if not top.takes_drip:
        warm = wording.length(depth_of((top.coldest_other if top.is_open else month).shavings or 0.0, wording.unit))
        usual = wording.length(fact("quilt.shavings_depth").length_in(wording.unit))
        words = f"Water may drip on the bees. Add a quilt box with {warm} of shavings (usual: {usual})"
        return f"{words}, or close the top and lay foam under the cover.", ()
    depth = depth_of(month.shavings or 0.0, wording.unit)
    there = wording.length(top.column.thick("shavings"))
    words = f"Use {wording.length(depth)} of shavings instead of {there}"
    if depth > _DEEPEST:
        return f"{words}. A quilt box is not that deep, so lay foam over the shavings too.", ()
    (filled,) = (item.name for item in items() if item.place is not None and item.place.kind is TierKind.TOP_BOX)
    return f"{words}.", ((f"make.{filled}.shavings", f'"{depth.number(wording.unit)}"'),)
