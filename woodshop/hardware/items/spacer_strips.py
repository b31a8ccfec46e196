"""Loose strips on the top bars, across the frames, that carry the wire bottom."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Annotated

from woodshop.engineering.mesh_beam import FreshMesh, Wire, fresh_mesh, pressure_of, steel_wire
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import Setting
from woodshop.hardware.registry import BoardPart, Param, item
from woodshop.hive.stacking.place import Place, TierKind, Varying, Work
from woodshop.reference.facts import fact
from woodshop.reference.materials import board_material, lattice_material
from woodshop.shape.part import Assembly, Part, Placed, Pose, Spec
from woodshop.units.lengths import ZERO, Length, inch, millimetre
from woodshop.units.wording import with_article

_MOST = 12
_NEAR_WIDTH = inch("1/8")  # for wood of 16 to 22 mm
_KEPT = 4096  # solved meshes that are cached, because similar hives need the same ones
# Parts of the tape's mark. Where the tape is too coarse, a strip is set with a gauge or a caliper.
_PARTS_OF_AN_INCH, _PARTS_OF_A_MILLIMETRE = (1, 2, 4), (1, 2, 5)
_HALF = 2
_THINNEST = inch("1/16")


PLACE = Place(
    kind=TierKind.ON_BARS,
    name="strips",
    varying=(
        Varying("thickness of the strips", "strip", 2, work=Work.SAW, swells=True),
        Varying("length of the strips", "strip", 1, work=Work.TAPE),
    ),
)


@item("spacer strips", title="Spacer strips", place=PLACE, board_part=BoardPart.STRIPS)
def spacer_strips(
    setting: Setting,
    *,
    number: Annotated[
        int | None, Param("number of strips", None, "2", "12", source="calculated from the sag of the mesh")
    ] = None,
    width: Annotated[Length, Param("width of a strip", "strip.width", "3/8", "2")],
    thickness: Annotated[
        Length | None, Param("thickness of a strip", None, "1/16", "1", source="calculated from the gap and the load")
    ] = None,
    sag: Annotated[Length, Param("allowed sag of the mesh between strips", "strip.sag_limit", "1/64", "1/8")],
    play: Annotated[Length, Param("strip shorter than the box inside, each end", "strip.play", "0", "1/2")],
) -> Assembly:
    """Loose strips across the frames, clear of the channel and the corner vents.

    top bars run front to back
     |  |  |  |  |  |
    =================  strip
     |  |  |  |  |  |
    =================  strip
    """
    box, say = setting.box, setting.say
    on_edge = width == setting.wood
    if thickness is None:
        _refuse_no_room(setting)
    fine = finest(setting)
    if thickness is not None and thickness != thickness.down_to(fine):
        raise InputError(
            Problem(
                f"spacer strips for {box.name}, thickness",
                say(thickness),
                f"a whole number of {say(fine)}, a small part of the smallest mark on the tape ({say(setting.mark)})",
                "Give a thickness that can be measured, or a finer mark: "
                + ('mark = "0.5 mm"' if setting.unit == "mm" else 'mark = "1/32 in"')
                + " under [saw].",
            )
        )
    count = number if number is not None else _count(setting, width, sag)
    places = strip_places(setting, count, width)
    limits = thickness_limits(setting, [x + width / 2 for x in places])
    thick = thickness if thickness is not None else aimed_thickness(setting, limits, on_edge)
    long = setting.wording.made(box.inside_width - play * 2)
    material = board_material(setting.wood, setting.unit) if on_edge else lattice_material(thick, width, setting.unit)
    strip = Part("strip", material, long, width, thick, on_edge=on_edge)
    start = (box.width - long) / 2
    placed = tuple(Placed(strip, Pose((x + width, start, ZERO), "+y", "-x", "+z")) for x in places)
    return Assembly(
        "spacer strips",
        f"Spacer strips for {box.name}",
        placed,
        steps=(
            _suits(setting, thick),
            f"Lay {count} strips loose on the top bars, across the frames, before the fondant board goes on.",
            "Set the front faces of the strips "
            + f"{', '.join(say(x) for x in places[:-1])} and {say(places[-1])}"
            + " back from the outside of the box's front end.",
            "Keep the strips clear of the channel and the two corner vents.",
        ),
        facts=(
            Spec("strips", f"{count} of {say(thick)} x {say(width)} x {say(long)}"),
            Spec("gap over the top bars", say(box.gap)),
            Spec("thickness limits", limits.words(setting)),
        ),
    )


def _suits(setting: Setting, thick: Length) -> str:
    """The step that says for which top bars the strips are. Bars level with the box have no gap to measure."""
    say, least = setting.say, thick - max(setting.mesh_low, ZERO)
    if least > ZERO:
        return (
            f"These strips suit {with_article(say(setting.box.gap))} gap over the top bars. The gap must be at least "
            f"{say(least)}. Check it with the bee-space gauge under a straightedge. If it is less, use "
            "thinner strips or none."
        )
    bars = (
        f"{with_article(say(setting.box.gap))} gap over the top bars"
        if setting.box.gap > ZERO
        else "top bars level with the box"
    )
    high = "no bar may stand above the box" if not least else f"no bar may stand more than {say(-least)} above the box"
    return (
        f"These strips suit {bars}. Lay a straightedge across the box: {high}. If one does, use thinner strips or none."
    )


def finest(setting: Setting) -> Length:
    """The finest step of a strip's thickness: a quarter of the tape's smallest mark, or a fifth of a millimeter."""
    return setting.mark / _parts(setting)[-1]


def usual_width(wood: Length, unit: str = "in") -> Length:
    """The default width of strips, from the table.

    If the boards of the rim are about that thick, their thickness is used, so that strips can be ripped from them.
    """
    width = fact("strip.width").length_in(unit)
    return wood if abs(wood - width) <= _NEAR_WIDTH else width


def _parts(setting: Setting) -> tuple[int, ...]:
    of_an_inch = (setting.mark / inch("1/64")).denominator == 1
    return _PARTS_OF_AN_INCH if of_an_inch else _PARTS_OF_A_MILLIMETRE


@dataclass(frozen=True, slots=True)
class ThicknessLimits:
    """The limits of the thickness of strips.

    The maximum is the gap plus the height of the mesh in the rim; thicker strips bow the mesh or lift the rim. At the
    minimum, the mesh that sags onto the strips still leaves bees enough space over the bars. The minimum is None if
    every thickness that leaves enough space would lift the mesh.
    """

    least: Length | None
    most: Length

    def hold(self, thick: Length) -> bool:
        """Whether a thickness is within the limits."""
        return self.least is not None and self.least <= thick <= self.most

    def words(self, setting: Setting) -> str:
        """The limits as text, rounded inward to the finest usable parts of a mark."""
        fine = finest(setting)
        most = setting.say(self.most.down_to(fine))
        return f"at most {most}" if self.least is None else f"{self.least.up_to(fine).number(setting.unit)} to {most}"


def strip_room(setting: Setting) -> Length:
    """The space from the top bars to the unloaded mesh: the smallest gap plus the height of the mesh in the rim."""
    return setting.box.gap + max(setting.mesh_low, ZERO)


def _refuse_no_room(setting: Setting) -> None:
    """Raises InputError if there is no space for strips."""
    if strip_room(setting) < _THINNEST:
        low = max(setting.mesh_low, ZERO)
        raise InputError(
            Problem(
                f"spacer strips for {setting.box.name}",
                f"a gap of {setting.wording.exact(setting.box.gap)} over the top bars and a mesh {setting.say(low)} "
                "above the rim's lower edge",
                setting.wording.said("together at least 1/16 in for a strip, and 3/16 in for the bees"),
                'Raise the mesh: mounting = "flush rabbet" with '
                + ('rabbet_height = "10 mm"' if setting.unit == "mm" else 'rabbet_height = "3/8 in"')
                + ', or "saw groove". If other hives keep theirs, write a [[make]] for these hives.',
            )
        )


def thickness_limits(setting: Setting, middles: Sequence[Length]) -> ThicknessLimits:
    """The thickness limits for strips with these centers, in the hive with the smallest gap. The maximum is exact.

    The minimum is found by bisection, in steps of 1/64 in or 1/10 mm: thinner strips always let the mesh sag lower.
    """
    room, spans = strip_room(setting), spans_between(setting, middles)
    wanted = fact("bee_space.tightest").length
    step = inch("1/64") if setting.unit == "in" else millimetre("1/10")

    def leaves(thick: Length) -> bool:
        mesh = mesh_on(setting, spans, room - thick)
        return all(mesh.carries) and float((room - wanted).inches) >= mesh.sag

    low, high = 0, int(room.down_to(step) / step)
    if high < 1 or not leaves(step * high):
        return ThicknessLimits(None, room)
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if leaves(step * middle) else (middle + 1, high)
    return ThicknessLimits(max(step * high, step), room)


def aimed_thickness(setting: Setting, limits: ThicknessLimits, on_edge: bool = True) -> Length:
    """The thickness to cut: within the limits, as close to their middle as the marks allow.

    It is a whole mark of the tape if that leaves room for the saw's tolerance on both sides; otherwise, it is the half
    or quarter of a mark that leaves the most room. In millimeters it is a fifth only if no half is within the limits.

    If strips are not ripped on edge (`on_edge` is false) and lattice is within the limits, it is the thickness of
    lattice as sold. If no thickness leaves bees enough space, it is the greatest that does not lift the mesh.
    """
    least, most = limits.least, limits.most
    usual = setting.size("strip.thickness")
    if not on_edge and limits.hold(usual):
        return usual
    if least is None:
        return most.down_to(finest(setting))
    off, middle = fact("tolerance.saw").length, (least + most) / 2
    best = least
    for part in _parts(setting):
        step = setting.mark / part
        below = middle.down_to(step)
        inside = [each for each in (below, below + step) if limits.hold(each)]
        for each in inside:
            if min(each - least, most - each) > min(best - least, most - best):
                best = each
        if min(best - least, most - best) >= off or (part == _HALF and best > least and setting.unit == "mm"):
            break
    return best


def spans_between(setting: Setting, middles: Sequence[Length]) -> tuple[Length, ...]:
    """The spans of the mesh: from the front wall to the first strip, between strips, and to the back wall."""
    edges = [setting.inside.x0, *sorted(middles), setting.inside.x1]
    return tuple(b - a for a, b in pairwise(edges))


def mesh_on(setting: Setting, spans: Sequence[Length], clear: Length = ZERO) -> FreshMesh:
    """An estimate of how the mesh of the board carries all of its damp sugar over these spans.

    `clear` is the distance of the strips below the unloaded mesh; strips that would lift the mesh count as touching it.
    """
    below = [max(float(clear.inches), 0.0)] * (len(spans) - 1)
    return mesh_over(setting, spans, below)


def mesh_over(setting: Setting, spans: Sequence[Length], below: Sequence[float]) -> FreshMesh:
    """The mesh with fresh sugar. `below` is the distance in inches from the mesh down to each strip's top."""
    dry = setting.sugar
    pressure = pressure_of(dry, setting.damp - dry, setting.sugar_area)
    free = float(min(setting.inside.long, setting.inside.wide).inches)  # wires of mesh without strips span this
    wire = steel_wire(setting.mesh.wire, setting.mesh.pitch)
    return _solved(wire, pressure, tuple(float(s.inches) for s in spans), tuple(below), free)


@lru_cache(_KEPT)
def _solved(wire: Wire, pressure: float, spans: tuple[float, ...], below: tuple[float, ...], free: float) -> FreshMesh:
    return fresh_mesh(wire, pressure, spans, below=below, free=free)


def _count(setting: Setting, width: Length, sag: Length) -> int:
    """The smallest number of strips (at least two) that keeps the sag within its limit, or the number with least sag.

    Raises InputError if two strips do not fit, or if the wires would bend permanently.
    """
    meshes: dict[int, FreshMesh] = {}
    for count in range(2, _MOST + 1):
        try:
            places = strip_places(setting, count, width)
        except InputError:
            if not meshes:
                raise
            break
        meshes[count] = mesh_on(setting, spans_between(setting, [x + width / 2 for x in places]))
        if meshes[count].sag <= float(sag.inches):
            return count
    best = min(meshes, key=lambda n: (meshes[n].beam.sag, n))
    if not meshes[best].invalid:
        return best
    why = "; ".join(meshes[best].invalid)
    raise InputError(
        Problem(
            f"spacer strips for {setting.box.name}",
            f"{setting.wording.mass(setting.sugar)} of sugar on {setting.mesh.sold(setting.unit)} mesh with wire "
            f"{setting.say(setting.mesh.wire)}",
            f"a sag of at most {setting.say(sag)}; with {best} strips, the most that fit, {why}",
            "Use a stiffer mesh, pack less sugar, or allow more sag.",
        )
    )


def strip_places(setting: Setting, count: int, width: Length) -> tuple[Length, ...]:
    """The position of each strip's front face: evenly spaced, then moved away from the channel and the vents.

    Raises InputError if this number of strips does not fit between them.
    """
    inside, voids = setting.inside, setting.voids
    first, last = voids[0].x1, voids[1].x0 - width
    run = inside.x1 - inside.x0
    even = [inside.x0 + run * n / (count + 1) - width / 2 for n in range(1, count + 1)]
    places = [max(first, min(last, x)).up_to(setting.mark) for x in even]
    places = [min(x, last.down_to(setting.mark)) for x in places]
    crowded = any(b - a < width * 2 for a, b in pairwise(places))
    if crowded:
        room = last - first
        step = (room / (count - 1)).down_to(setting.mark)
        places = [first.up_to(setting.mark) + step * n for n in range(count)]
        crowded = step < width * 2
    if crowded or first > last:
        raise InputError(
            Problem(
                f"spacer strips for {setting.box.name}",
                f"{count} strips {setting.say(width)} wide",
                f"strips at least a strip's width apart in the {setting.say(last + width - first)} between channel and "
                "corner vents",
                "Use fewer or narrower strips, or turn the packing blocks along the front.",
            )
        )
    return tuple(places)
