"""The tops of a batch's hives in the cold: from the layers as they stand to temperatures, dew and shavings wanted.

A steady-state estimate: the same weather and the same bees for days. Where the top is open to the air outside the
space under the cover is as cold as that, and what lies above it keeps nothing warm.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from woodshop.design.batch import Unit
from woodshop.design.hive_stacks import place_of, stacks_of
from woodshop.design.settings.climate import Climate, Cold
from woodshop.engineering.heat import HeatPath, Layer, air_space, film, foam, heat_path, shavings, sugar, wood
from woodshop.engineering.heat import shavings_wanted as depth_wanted
from woodshop.errors import InputError
from woodshop.hive.passages.top_layers import HeatColumn, Slab, columns_over
from woodshop.reference.facts import fact
from woodshop.units.wording import LengthUnit

WOOD = "wood.gravity_eastern_white_pine"
_THIN = ("cloth", "mesh", "plastic")  # let heat through as though they were not there


@dataclass(frozen=True, slots=True)
class Month:
    """One month: the path of heat over the bees, and that over channel and vents, where no sugar lies.

    Each is None where it is no colder outside than over the bees, the second also where the way stands open to the
    air outside, or is none. `wanted` is the whole depth of shavings in metres that keeps both undersides at the dew
    point: 0 for none; None where no depth does, and where there is no path.
    """

    cold: Cold
    path: HeatPath | None
    by_the_way: HeatPath | None
    wanted: float | None

    @property
    def paths(self) -> tuple[HeatPath, ...]:
        """The paths that there are."""
        return tuple(path for path in (self.path, self.by_the_way) if path is not None)

    @property
    def is_dry(self) -> bool:
        """Whether every underside is warmer than the dew point."""
        return all(path.is_dry for path in self.paths)


@dataclass(frozen=True, slots=True)
class Top:
    """One kind of top: the hives that have it, its columns, its months. `other` is the same top shut, or opened.

    `columns` are that over the bees, and where sugar lies in it that over channel and vents.
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
        """Whether it is ever colder outside than over the bees."""
        return self.coldest.cold.outside.celsius < self.climate.hive_air.celsius

    @property
    def takes_drip(self) -> bool:
        """Whether shavings lie under the cover."""
        return bool(self.column.thick("shavings"))

    @property
    def is_open(self) -> bool:
        """Whether air gets out over the bees, and the cover is cold by design."""
        return self.column.vented is not None

    @property
    def coldest(self) -> Month:
        """The coldest month."""
        return min(self.months, key=lambda month: month.cold.outside.celsius)

    @property
    def coldest_other(self) -> Month:
        """The coldest month of the same top, shut or opened."""
        return min(self.other, key=lambda month: month.cold.outside.celsius)


def cold_tops(units: Iterable[Unit], climate: Climate | None) -> tuple[Top, ...]:
    """Every kind of top of the hives for which these units are made; nothing without a climate."""
    if climate is None:
        return ()
    groups: dict[str, dict[str, Unit]] = {}
    for unit in units:
        if unit.line.item.per == "hive":
            groups.setdefault(place_of(unit.line.hives), {})[unit.line.item.name] = unit
    alike: dict[tuple[object, ...], tuple[tuple[HeatColumn, ...], list[str]]] = {}
    for group in groups.values():
        for stack in stacks_of(group):
            columns = columns_over(stack)
            if columns:
                key = tuple((tuple((s.stuff, s.thick) for s in c.slabs), c.vents, c.vented) for c in columns)
                alike.setdefault(key, (columns, []))[1].append(stack.name)
    return tuple(top_of(columns, climate, tuple(places)) for columns, places in alike.values())


def top_of(columns: tuple[HeatColumn, ...], climate: Climate, places: tuple[str, ...] = ()) -> Top:
    """A top through the months of a climate."""
    months = tuple(_month(columns, climate, cold) for cold in climate.cold)
    turned = tuple(replace(c, vented=_highest_air(c) if c.vented is None else None) for c in columns)
    return Top(places, columns, climate, months, tuple(_month(turned, climate, cold) for cold in climate.cold))


def _highest_air(column: HeatColumn) -> int | None:
    return max((n for n, slab in enumerate(column.slabs) if slab.stuff == "air"), default=None)


def _month(columns: tuple[HeatColumn, ...], climate: Climate, cold: Cold) -> Month:
    inside, outside = climate.hive_air.celsius, cold.outside.celsius
    if outside >= inside:
        return Month(cold, None, None, None)
    paths: list[HeatPath | None] = []
    depths: list[float | None] = []
    for column in columns:
        layers, bare = layers_of(column, climate), layers_of(column, climate, with_shavings=False)
        paths.append(heat_path(layers, inside, outside, climate.humidity) if layers else None)
        if layers and bare:
            depths.append(depth_wanted(bare, inside, outside, humidity=climate.humidity))
    known = [depth for depth in depths if depth is not None]
    wanted = max(known) if known and len(known) == len(depths) else None
    return Month(cold, paths[0], paths[1] if len(paths) > 1 else None, wanted)


def layers_of(column: HeatColumn, climate: Climate, with_shavings: bool = True) -> list[Layer]:
    """The layers from the film of air over the bees up to that outside, or to that of the open space.

    What lies free of the first slab above is the bees' own air. Empty where that stands open to the air outside.
    """
    layers = [film("inside, heat up")]
    for n, slab in enumerate(column.slabs):
        if n == column.vented:
            bare = not with_shavings and column.thick("shavings")  # where shavings may come to lie
            return [*layers, replace(film("inside, heat up"), name="open air")] if len(layers) > 1 or bare else []
        if len(layers) == 1 and slab.stuff == "air":
            continue
        if climate.foam is not None and slab.name == "cover top":
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
    """What would change if an assumption were wrong: in words, and the coldest month so."""

    words: str
    month: Month


def what_if(top: Top, unit: LengthUnit) -> tuple[If, ...]:
    """The coldest month with air over the bees 5 °C warmer, and with air of 85 % humidity; `unit` is for the words."""
    climate, cold = top.climate, top.coldest.cold
    warmer = replace(climate.hive_air, celsius=climate.hive_air.celsius + 5.0)
    found = []
    for words, other in (
        (f"the air over the bees {'5 °C' if unit == 'mm' else '9 °F'} warmer", replace(climate, hive_air=warmer)),
        ("that air at 85 % humidity", replace(climate, humidity=0.85)),
    ):
        try:
            found.append(If(words, _month(top.columns, other, cold)))
        except InputError:  # air hotter than the formulas go
            continue
    return tuple(found)
