"""Frames as they hang in a box: top bar with its lugs, self-spacing end bars, bottom bar, drawn comb.

Seen from the side and from the front:

    ===+==================+===  top bar, lugs      +====+
       |                  |                      |######|  end bar, wide above
       |       comb       |                      |######|
       |                  |                       |####|   and narrow below its shoulder
       +==================+      bottom bar        +==+
"""

from dataclasses import KW_ONLY, dataclass

from woodshop.errors import InputError, Problem
from woodshop.hive.woodenware.box import HiveBox, TopBar
from woodshop.reference.facts import Fact, fact, group
from woodshop.reference.materials import EXISTING
from woodshop.shape.part import Cut, Face, Part, Placed, Pose, Rectangle, Role
from woodshop.units.lengths import ZERO, Length


@dataclass(frozen=True, slots=True)
class Frame:
    """What hangs from a top bar. `depth` is from the top bar's upper face to the bottom bar's lower one.

    `length` is outside the end bars, below the lugs. An end bar is `end_width` wide down to `shoulder` below the
    top of the frame, and `end_below` from there on. `comb` is the thickness of drawn comb.
    """

    depth: Length
    length: Length
    _: KW_ONLY
    end_width: Length
    end_below: Length
    end_thickness: Length
    shoulder: Length
    bottom_width: Length
    bottom_thickness: Length
    comb: Length


def frame_row(box: HiveBox, national: bool = False) -> Fact:
    """The row of the deepest published frame that hangs in the box with room under it.

    Raises InputError when even the shallowest stands out below.
    """
    rows = group("frame.national_depth") if national else tuple(fact(f"frame.depth_{n}") for n in _HEIGHTS)
    if not national:
        rows = tuple(row for row in rows if row.key.count(".") == 1)
    hanging = [row for row in rows if row.length <= box.height - box.gap]
    if not hanging:
        least = min(row.length for row in rows)
        raise InputError(
            Problem(
                f"{box.name} box, height",
                f"{box.height}, with a gap of {box.gap} over the top bars",
                f"room for a frame at least {least} deep",
                "Measure a frame from the top of its top bar to its lower edge, and give frame_depth.",
            )
        )
    return max(hanging, key=lambda row: row.length)


def frame_for(box: HiveBox, depth: Length, national: bool = False) -> Frame:
    """A frame of that depth for the box; its other sizes from the rows. Raises InputError when it does not go in."""
    length = fact("frame.national_length" if national else "frame.length").length
    frame = Frame(
        depth,
        length,
        end_width=box.bar.spacing,
        end_below=fact("frame.end_bar_below").length,
        end_thickness=fact("frame.end_bar_thickness").length,
        shoulder=fact("frame.end_bar_shoulder").length,
        bottom_width=fact("frame.bottom_bar_width").length,
        bottom_thickness=fact("frame.bottom_bar_thickness").length,
        comb=fact("frame.comb_thickness").length,
    )
    if depth <= box.bar.thickness + frame.bottom_thickness:
        raise InputError(
            Problem(
                f"{box.name} box, frame_depth",
                str(depth),
                f"more than its two bars, {box.bar.thickness + frame.bottom_thickness}",
                "Measure a frame from the top of its top bar to its lower edge.",
            )
        )
    return frame


def hang(box: HiveBox, frame: Frame) -> tuple[Placed, ...]:
    """The frames of a box as placed parts, left to right; the box's lower edge at z = 0, its corner at x = y = 0."""
    middle = box.width / 2 - box.bar.spacing * (box.frames - 1) / 2
    first = _one(box, frame, middle)
    return tuple(each.moved((ZERO, box.bar.spacing * n, ZERO)) for n in range(box.frames) for each in first)


_HEIGHTS = ("deep", "medium", "shallow")


def _one(box: HiveBox, frame: Frame, y: Length) -> list[Placed]:
    """One frame about the line y, its top bar `gap` below the box's upper edge."""
    bar, top, middle = box.bar, box.height - box.gap, box.length / 2
    low, thick = top - frame.depth, frame.end_thickness
    front, back = middle - frame.length / 2, middle + frame.length / 2
    inner = frame.length - thick * 2
    high = frame.depth - bar.thickness - frame.bottom_thickness
    end = _end_bar(bar, frame)
    bottom = Part("bottom bar", EXISTING, inner, frame.bottom_width, frame.bottom_thickness)
    comb = Part("comb", EXISTING, inner, high, frame.comb)
    poses = (
        (top_bar(bar, frame.length), Pose((middle - bar.length / 2, y - bar.width / 2, top - bar.thickness))),
        (end, Pose((front + thick, y - frame.end_width / 2, low), "+z", "+y", "-x")),
        (end, Pose((back, y - frame.end_width / 2, low), "+z", "+y", "-x")),
        (bottom, Pose((front + thick, y - frame.bottom_width / 2, low))),
        (comb, Pose((front + thick, y + frame.comb / 2, low + frame.bottom_thickness), "+x", "+z", "-y")),
    )
    return [Placed(part, pose, Role.EXISTING) for part, pose in poses]


def top_bar(bar: TopBar, between_lugs: Length) -> Part:
    """The top bar, cut away under its lugs down to `between_lugs` of full thickness."""
    lug, under = (bar.length - between_lugs) / 2, bar.thickness - bar.lug
    cuts: tuple[Cut, ...] = ()
    if under > ZERO and lug > ZERO:
        cuts = (
            Cut("lug", Face.BACK, Rectangle(ZERO, ZERO, lug, bar.width), under),
            Cut("lug", Face.BACK, Rectangle(bar.length - lug, ZERO, bar.length, bar.width), under),
        )
    return Part("top bar", EXISTING, bar.length, bar.width, bar.thickness, cuts=cuts)


def _end_bar(bar: TopBar, frame: Frame) -> Part:
    """Standing on its lower end: as high as the lug's underside, slotted round the top bar."""
    high, wide, thick = frame.depth - bar.lug, frame.end_width, frame.end_thickness
    slot, below, side = bar.thickness - bar.lug, frame.depth - frame.shoulder, (wide - frame.end_below) / 2
    cuts: list[Cut] = []
    if slot > ZERO:
        cheek = (wide - bar.width) / 2
        cuts.append(Cut("slot", Face.SHOW, Rectangle(high - slot, cheek, high, wide - cheek), thick))
    if below > ZERO and side > ZERO:
        cuts += [
            Cut("narrow part", Face.SHOW, Rectangle(ZERO, ZERO, below, side), thick),
            Cut("narrow part", Face.SHOW, Rectangle(ZERO, wide - side, below, wide), thick),
        ]
    return Part("end bar", EXISTING, high, wide, thick, cuts=tuple(cuts))
