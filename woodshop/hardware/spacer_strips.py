"""Strips that lie loose on the top bars, across the frames, and carry the mesh floor."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Annotated

from woodshop.engineering.mesh_beam import FreshMesh, fresh_mesh, pressure_of, steel_wire
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import Setting
from woodshop.hardware.gauge_steps import gauge_words
from woodshop.hardware.registry import Param, item
from woodshop.reference.facts import fact
from woodshop.reference.lumber import board_name, lattice_name
from woodshop.shape.part import Assembly, Fact, Part, Placed, Pose
from woodshop.units import ZERO, Length, inch

_MOST = 12
_NEAR_WIDTH = inch("1/8")  # wood of 16 to 22 mm


@item("spacer strips", title="Spacer strips")
def spacer_strips(
    setting: Setting,
    *,
    number: Annotated[
        int | None, Param("how many strips", None, "2", "12", "worked out from the sag of the mesh")
    ] = None,
    width: Annotated[Length, Param("width of a strip", "strip.width", "3/8", "2")],
    thickness: Annotated[
        Length | None, Param("thickness of a strip", None, "1/16", "1", "worked out from the gap over the top bars")
    ] = None,
    sag: Annotated[Length, Param("sag of the mesh that is left", "strip.sag_limit", "1/64", "1/8")],
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
    thick = thickness if thickness is not None else strip_thickness(setting)
    if thick != thick.down_to(setting.mark):
        raise InputError(
            Problem(
                f"spacer strips for {box.name}, thickness",
                str(thick),
                f"a whole number of {setting.mark}, the smallest mark on the tape: it would be cut thicker",
                'Give a thickness on the marks, or the finer mark that you can set, mark = "1/32 in" under [saw].',
            )
        )
    count = number if number is not None else _count(setting, width, sag)
    long = box.inside_width - play * 2
    on_edge = width == setting.wood
    material = board_name(setting.wood) if on_edge else lattice_name(thick, width)
    strip = Part("strip", material, long, width, thick, on_edge=on_edge)
    places = strip_places(setting, count, width)
    placed = tuple(Placed(strip, Pose((x + width, box.wall + play, ZERO), "+y", "-x", "+z")) for x in places)
    spans = spans_between(setting, [x + width / 2 for x in places])
    left, span = mesh_on(setting, spans).sag, max(spans)
    return Assembly(
        "spacer strips",
        f"Spacer strips for {box.name}",
        placed,
        steps=(
            f"Lay a straightedge across the box and try the bee-space gauge under it, on the top bars "
            f"({say(box.gap)}): {gauge_words(box.gap, say)}.",
            f"Lay {count} strips loose on the top bars, across the frames, before the board goes on.",
            "Front faces of the strips, measured back from the outside of the front end of the box: "
            + ", ".join(say(x) for x in places)
            + ".",
            "Keep them clear of the channel and the two corner vents.",
        ),
        facts=(
            Fact("strips", f"{count} of {say(thick)} x {say(width)} x {say(long)}"),
            Fact("gap over the top bars", say(box.gap)),
            Fact("sag of the mesh, estimate", f"{_sag(left, setting)} over the widest span of {say(span)}"),
        ),
    )


def _sag(inches: float, setting: Setting) -> str:
    return f"{inches * 25.4:.1f} mm" if setting.unit == "mm" else f"{inches:.3f} in"


def usual_width(wood: Length) -> Length:
    """The width of strips that nobody gave: the row's, or the thickness of wood that is about as thick, so that strips
    are ripped from the boards of the rim."""
    width = fact("strip.width").length
    return wood if abs(wood - width) <= _NEAR_WIDTH else width


def strip_thickness(setting: Setting) -> Length:
    """The thickest strip on the tape's marks that does not lift the rim: gap plus the mesh's height in the rim.

    Raises InputError when there is no room for any strip.
    """
    room = setting.box.gap + max(setting.mesh_low, ZERO)
    thick = room.down_to(setting.mark)
    if thick < inch("1/16"):
        raise InputError(
            Problem(
                f"spacer strips for {setting.box.name}",
                f"a gap of {setting.box.gap} over the top bars and a mesh "
                f"{max(setting.mesh_low, ZERO)} above the rim's lower edge",
                "together at least 1/16 in for a strip, and 3/16 in for the bees",
                'Raise the mesh: mounting = "flush rabbet" with rabbet_height = "3/8 in", or "saw groove".',
            )
        )
    return thick


def spans_between(setting: Setting, middles: Sequence[Length]) -> tuple[Length, ...]:
    """What the mesh spans: from the front wall to the first strip, from strip to strip, and to the back wall."""
    edges = [setting.inside.x0, *sorted(middles), setting.inside.x1]
    return tuple(b - a for a, b in pairwise(edges))


def mesh_on(setting: Setting, spans: Sequence[Length]) -> FreshMesh:
    """The fresh board's mesh over these spans, as an estimate: all its damp sugar on the floor that it covers."""
    dry = setting.sugar
    pressure = pressure_of(dry, setting.damp - dry, setting.sugar_area)
    return fresh_mesh(steel_wire(setting.mesh.wire, setting.mesh.pitch), pressure, [float(s.inches) for s in spans])


def _count(setting: Setting, width: Length, sag: Length) -> int:
    """The fewest strips, two at least, that hold the sag where they can lie; else those that leave the least.

    Raises InputError when not even two fit, and when the wires would be bent for good.
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
            f"{setting.sugar} of sugar on {setting.board.mesh} mesh with wire {setting.mesh.wire}",
            f"a sag of at most {sag}; with {best} strips, all that there is room for, {why}",
            "Use a stiffer mesh, pack less sugar, or allow more sag.",
        )
    )


def strip_places(setting: Setting, count: int, width: Length) -> tuple[Length, ...]:
    """Where each strip's front face lies: evenly over the inside, then moved clear of channel and vents.

    Raises InputError when that many strips do not fit between them.
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
                f"{count} strips {width} wide",
                f"strips a strip's width apart in the {last + width - first} between channel and corner vents",
                "Use fewer or narrower strips, or turn the packing blocks along the front.",
            )
        )
    return tuple(places)
