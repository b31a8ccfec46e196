"""The top of the hives in the cold: where water would come out over the bees, by a steady-state estimate."""

from woodshop.checks.measured.cold_tops import Month, Top
from woodshop.engineering.heat import HeatPath, LayerBoundary
from woodshop.findings import Finding, Severity
from woodshop.hardware.catalogue import items
from woodshop.hive.stacking.place import TierKind
from woodshop.reference.facts import fact
from woodshop.units.lengths import Length, inch, millimetre
from woodshop.units.wording import LengthUnit, Wording

_SOURCE = "steady state; saturation after Hyland and Wexler, as ASHRAE Fundamentals gives it"
_DEEPEST = inch(8)  # a quilt box takes no more


def check_cold(tops: tuple[Top, ...], wording: Wording) -> list[Finding]:
    """Tops whose underside over the bees is under the dew point in the coldest month; and those that drip on sugar."""
    return [_found(top, said, wording) for top in tops if (said := _amiss(top, wording))]


def _amiss(top: Top, wording: Wording) -> str:
    """What is amiss with a top in its coldest month; "" for nothing."""
    month = top.coldest
    if not top.is_cold:
        return ""
    said = [wet_words(path, where, wording) for path, where in over(month) if not path.is_dry]
    if top.is_open and not top.takes_drip:
        said.append("the cover is as cold as outside, and nothing under it takes its drip")
    return "; ".join(said)


def over(month: Month) -> list[tuple[HeatPath, str]]:
    """The paths of a month, each with where it is."""
    places = ("over the bees", "over channel and vents")
    paths = (month.path, month.by_the_way)
    return [(path, place) for path, place in zip(paths, places, strict=True) if path is not None]


def wet_words(path: HeatPath, where: str, wording: Wording) -> str:
    """An underside that is too cold, in words."""
    dew, there = wording.temperature(path.dew_point), wording.temperature(path.underside)
    return f"the underside {where} is at {there}, under the dew point of the hive's air, {dew}"


def face_words(face: LayerBoundary) -> str:
    """Where two layers meet, as a person finds it."""
    if face.below.startswith("air, "):
        return f"on the underside of the {face.above}"
    if face.below == "air space":
        return f"under the {face.above}"
    if face.below == "shavings":
        return "high in the shavings"
    return f"on top of the {face.below}"


def depth_of(metres: float, unit: LengthUnit) -> Length:
    """A depth of shavings, up to a half inch or to 10 mm."""
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
        f"at {month.cold.outside.given} outside{when} {said}; an estimate",
        "undersides warmer than the dew point, or shavings that take the drip",
        _SOURCE,
        change,
        remedy,
    )


def _change(top: Top, month: Month, wording: Wording) -> tuple[str, tuple[tuple[str, str], ...]]:
    if month.wanted is None and not (top.is_open and not top.takes_drip):
        return "No depth of shavings keeps it warmer: the air over the bees is too damp; let it out.", ()
    if not top.takes_drip:
        warm = wording.length(depth_of((top.coldest_other if top.is_open else month).wanted or 0.0, wording.unit))
        usual = wording.length(fact("quilt.shavings_depth").length_in(wording.unit))
        words = f"A quilt box takes it: {warm} of shavings keep the underside warm enough, {usual} are usual"
        return f"{words}; or shut the top and lay foam under the cover.", ()
    depth_wanted = depth_of(month.wanted or 0.0, wording.unit)
    there = wording.length(top.column.thick("shavings"))
    words = f"Fill in {wording.length(depth_wanted)} of shavings in all, where there are {there}"
    if depth_wanted > _DEEPEST:
        return f"{words}; deeper than a quilt box takes: lay foam over them too.", ()
    (filled,) = (item.name for item in items() if item.place is not None and item.place.kind is TierKind.TOP_BOX)
    return f"{words}.", ((f"make.{filled}.shavings", f'"{wording.number(depth_wanted)}"'),)
