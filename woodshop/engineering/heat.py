"""Heat and moisture through the top of a hive, layer by layer: a one-dimensional steady-state estimate.

The resistances of the layers add up, and the temperature drop across each layer is proportional to its resistance.
Water condenses on a face that is colder than the dew point of the bees' air, which is assumed to reach every layer
(through drafts, bee holes, open mesh). The model assumes steady weather, which never occurs: a wooden top stores heat
and water for days, and a ventilated hive loses more heat through its air than through its cover. Use it to compare
tops. Sizes are in m, temperatures in °C, resistances in m2 K/W, and humidity is a fraction of 1; all are floats.
"""

from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass
from itertools import pairwise

from woodshop.engineering.moist_air import dew_point
from woodshop.engineering.wood import conductivity
from woodshop.errors import InputError, Problem
from woodshop.reference.facts import fact
from woodshop.units.lengths import Length, unit_of_lengths

SQUARE_METRE_KELVIN_PER_WATT = 0.17611018  # in 1 h ft2 F/Btu: 0.3048^2 x 3600 x 5/9 / 1055.05585

_STEFAN_BOLTZMANN = 5.670374e-8  # W/(m2 K4), CODATA

_R, _R_INCH = "h ft2 F/Btu", "h ft2 F/Btu in"
_FILMS = {
    "inside, heat up": "heat.film_up",
    "inside, heat down": "heat.film_down",
    "inside, upright": "heat.film_vertical",
    "outside": "heat.film_outside",
}
_FOAMS = ("eps_xi", "eps_i", "eps_viii", "eps_ii", "eps_ix", "xps")
_SHAVINGS = {"shavings": "heat.shavings", "softwood fibre": "heat.shavings_fibre"}


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a hive's top. `assumed` names the figures without a printed source."""

    name: str
    resistance: float
    assumed: str = ""


@dataclass(frozen=True, slots=True)
class LayerBoundary:
    """The boundary between two layers, named after both: its temperature, and whether water condenses there."""

    below: str
    above: str
    celsius: float
    wet: bool


@dataclass(frozen=True, slots=True)
class HeatPath:
    """A solved top. `faces` go from inside to outside; the first is the surface over the bees.

    `u` is in W/m2 K, `flux` in W/m2 (upward), and `dew_point` is the dew point of the bees' air. Print `assumptions`
    with the figures.
    """

    layers: tuple[Layer, ...]
    u: float
    flux: float
    _: KW_ONLY
    dew_point: float
    faces: tuple[LayerBoundary, ...]
    assumptions: tuple[str, ...]

    @property
    def underside(self) -> float:
        """The temperature in °C of the first surface above the bees."""
        return self.faces[0].celsius

    @property
    def is_dry(self) -> bool:
        """Whether the surface is warmer than the dew point of the air below it."""
        return not self.faces[0].wet

    @property
    def wet_first(self) -> LayerBoundary | None:
        """The first face, from inside to outside, on which water condenses if the bees' air reaches it."""
        return next((face for face in self.faces if face.wet), None)


def film(kind: str) -> Layer:
    """The still-air film at a surface: "inside, heat up", "inside, heat down", "inside, upright" or "outside".

    Source: Washington Administrative Code 51-11-0526, ASHRAE's values. Vapor passes through it freely. Raises
    InputError for another kind.

    >>> round(film("inside, heat up").resistance, 3)
    0.107
    """
    _known("film of air", kind, tuple(_FILMS))
    resistance = float(fact(_FILMS[kind]).measure(_R)) * SQUARE_METRE_KELVIN_PER_WATT
    return Layer(f"air, {kind}", resistance)


def air_space(thickness: Length) -> Layer:
    """A level, closed air space with heat flowing up, by radiation and by conduction or convection.

    Source: ISO 6946:2017, annex D, with an emissivity of 0.9 for both faces and a mean temperature of 10 °C. Raises
    InputError unless the thickness is positive.

    >>> from woodshop.units.lengths import millimetre
    >>> [round(air_space(millimetre(mm)).resistance, 2) for mm in (5, 7, 10, 25, 100)]
    [0.11, 0.13, 0.15, 0.16, 0.16]
    """
    metres = _metres("thickness of the air space", thickness)
    moved, conducted, emits = (
        float(fact(f"heat.air_space_{name}").measure(unit))
        for name, unit in (("convection", "W/m2 K"), ("conduction", "W/m K"), ("emissivity", "of 1"))
    )
    radiated = 4 * _STEFAN_BOLTZMANN * (273.15 + 10) ** 3 / (2 / emits - 1)
    return Layer("air space", 1 / (max(moved, conducted / metres) + radiated))


def wood(thickness: Length, gravity: float, moisture: float = 12.0) -> Layer:
    """Solid wood with heat flowing across the grain. `gravity` must be over 0.3 and `moisture` under 25 percent."""
    return Layer("wood", _metres("thickness of the wood", thickness) / conductivity(gravity, moisture))


def foam(kind: str, thickness: Length) -> Layer:
    """Polystyrene: "eps_xi", "eps_i", "eps_viii", "eps_ii", "eps_ix" or "xps", with its minimum resistance at 75 °F.

    Source: ASTM C578-10; colder foam has about a tenth more resistance.
    """
    _known("foam", kind, _FOAMS)
    inches = _metres("thickness of the foam", thickness) / 0.0254
    each = float(fact(f"heat.{kind}").measure(_R_INCH)) * SQUARE_METRE_KELVIN_PER_WATT
    return Layer(f"foam, {kind.replace('_', ' ')}", each * inches)


def shavings(depth: Length, kind: str = "shavings") -> Layer:
    """Loose "shavings" or "softwood fibre", settled to this depth. The resistance is for dry material (no source)."""
    return _shavings(_metres("depth of the shavings", depth), kind)


def sugar(depth: Length) -> Layer:
    """Packed sugar of this depth. The conductivity is an estimate; no measurement was found in print."""
    row = fact("heat.sugar")
    return Layer(
        "sugar",
        _metres("depth of the sugar", depth) / float(row.measure("W/m K")),
        assumed=f"sugar conducts {row.value}: {row.cite}",
    )


def heat_path(layers: Sequence[Layer], inside: float, outside: float, humidity: float) -> HeatPath:
    """Solves a top of `layers`, from the air film over the bees to the film outside.

    `inside` and `outside` are air temperatures in °C, `humidity` the relative humidity inside, 0 to 1. Raises
    InputError if there are fewer than two layers, if a resistance is not positive, if the inside is colder than the
    outside, or if the air is out of range.

    >>> from woodshop.units.lengths import inch
    >>> board = wood(inch("3/4"), 0.37)
    >>> bare = heat_path([film("inside, heat up"), board, film("outside")], 10, -10, 0.75)
    >>> round(bare.u, 2), round(bare.underside, 1), round(bare.dew_point, 1), bare.is_dry
    (3.2, 3.1, 5.8, False)
    """
    _check(layers, inside, outside)
    total = sum(layer.resistance for layer in layers)
    drop = inside - outside
    dew = dew_point(inside, humidity)
    faces, below = [], 0.0
    for lower, upper in pairwise(layers):
        below += lower.resistance
        celsius = inside - drop * below / total
        faces.append(LayerBoundary(lower.name, upper.name, celsius, celsius <= dew))
    return HeatPath(
        tuple(layers), 1 / total, drop / total, dew_point=dew, faces=tuple(faces), assumptions=_assumptions(layers)
    )


def shavings_wanted(
    layers: Sequence[Layer],
    inside: float,
    outside: float,
    *,
    humidity: float,
    kind: str = "shavings",
    margin: float = 0.0,
) -> float | None:
    """The depth of shavings in m, added to `layers`, that keeps the surface at the dew point plus `margin` K.

    The depth is 0 if the top is warm enough without shavings. It is None if no depth is enough, for example when the
    air is saturated, so that its dew point equals its temperature. The shavings can be in any layer above the surface.
    Raises InputError as `heat_path` does, and for a negative margin.

    >>> from woodshop.units.lengths import inch
    >>> top = [film("inside, heat up"), wood(inch("3/4"), 0.37), film("outside")]
    >>> round(shavings_wanted(top, 10, -10, humidity=0.75) * 1000)
    13
    """
    if margin < 0:
        raise InputError(Problem("margin over the dew point", f"{margin:g} K", "0 or more", "Give about 1 K."))
    _check(layers, inside, outside)
    room = inside - dew_point(inside, humidity) - margin
    if room <= 0:
        return None
    total = sum(layer.resistance for layer in layers)
    more = layers[0].resistance * (inside - outside) / room - total
    return max(0.0, more / _shavings(1.0, kind).resistance)


def water_given_off(honey: float = 0.0, sugar: float = 0.0) -> tuple[float, float]:
    """The minimum and maximum water in kg that bees give off when they eat these kg of honey and dry table sugar.

    One kg of honey gives 0.66 to 0.70 kg; one kg of sugar gives 0.579 kg, not counting the water mixed into it. Raises
    InputError if an amount is negative.

    >>> [round(kg, 1) for kg in water_given_off(honey=20)]
    [13.2, 14.0]
    """
    if honey < 0 or sugar < 0:
        raise InputError(Problem("stores eaten", f"{honey:g} and {sugar:g} kg", "0 or more", "Give what was eaten."))
    least, most = (float(fact(f"heat.water_from_honey_{end}").measure("kg/kg")) for end in ("least", "most"))
    sweet = float(fact("heat.water_from_sugar").measure("kg/kg"))
    return honey * least + sugar * sweet, honey * most + sugar * sweet


def _shavings(metres: float, kind: str) -> Layer:
    _known("shavings", kind, tuple(_SHAVINGS))
    row = fact(_SHAVINGS[kind])
    each = float(row.measure(_R_INCH)) * SQUARE_METRE_KELVIN_PER_WATT / 0.0254
    said = f"conduct {1 / each:.3f} W/m K" if unit_of_lengths() == "mm" else f"resist {row.value}"
    return Layer(kind, each * metres, assumed=f"{kind} {said}, dry: {row.cite}")


def _assumptions(layers: Sequence[Layer]) -> tuple[str, ...]:
    return (
        "steady state: the same weather and the same bees for days; a comparison, not a forecast",
        "one direction, straight up, without sides, corners and drafts",
        *(layer.assumed for layer in layers if layer.assumed),
    )


def _check(layers: Sequence[Layer], inside: float, outside: float) -> None:
    problems = []
    if len(layers) < 2:
        problems.append(Problem("layers of the top", str(len(layers)), "two or more", "Give the films of air too."))
    for layer in layers:
        if not layer.resistance > 0:
            given = f"{layer.resistance:g} m2 K/W"
            problems.append(Problem(f"resistance of {layer.name}", given, "more than 0", "Remove the layer."))
    if inside <= outside:
        given = f"{inside:g} °C inside, {outside:g} °C outside"
        problems.append(
            Problem("temperatures", given, "warmer inside", "No moisture condenses inside in such weather.")
        )
    if problems:
        raise InputError(*problems)


def _metres(where: str, length: Length) -> float:
    if length.mm <= 0:
        raise InputError(Problem(where, str(length), "more than 0", "Remove the layer, or give its size."))
    return float(length.mm) / 1000


def _known(where: str, given: str, names: tuple[str, ...]) -> None:
    if given not in names:
        raise InputError(Problem(where, given, f"one of {', '.join(names)}", "Name one of these."))
