"""A hive box and its frames, with their outside sizes, frame rests, lugs, end bars and comb."""

from collections.abc import Iterator
from dataclasses import KW_ONLY, dataclass, replace

from woodshop.errors import InputError, Problem
from woodshop.hive.creatures import PartName
from woodshop.reference.facts import fact
from woodshop.reference.materials import EXISTING
from woodshop.reference.patterns import HivePattern, PatternSize
from woodshop.shape.part import Assembly, Cut, Face, Part, Placed, Pose, Rectangle, Role
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import INCHES, Wording


@dataclass(frozen=True, slots=True)
class TopBar:
    """A frame's top bar: overall length, width, thickness, and the thickness of its lugs."""

    length: Length
    width: Length
    thickness: Length
    lug: Length
    spacing: Length


@dataclass(frozen=True, slots=True)
class HiveBox:
    """The box under the hardware, given by its outside sizes. `gap` is from its upper edge down to the top bars.

    `wall` is the thickness of the walls, `inner` is the added thickness of inner end walls, if any, and `rest` is the
    width of the frame rest in each end wall. One follower board of thickness `follower` hangs at the right of the
    frames, two at both sides; each takes the place where the next frame would begin. `has_own_gap` says whether its gap
    was given apart from that of the box under the board.
    """

    name: str
    frames: int
    length: Length
    _: KW_ONLY
    width: Length
    height: Length
    wall: Length
    gap: Length
    rest: Length
    bar: TopBar
    inner: Length = ZERO
    followers: int = 0
    follower: Length = ZERO
    has_own_gap: bool = False

    @property
    def first_frame(self) -> Length:
        """The distance from the left face of the box to the middle of the first frame. The frames are centered."""
        return self.width / 2 - self.bar.spacing * (self.frames - 1) / 2 - self.follower * (self.followers % 2) / 2

    @property
    def end_wall(self) -> Length:
        """The thickness of the ends in which the frames hang."""
        return self.wall + self.inner

    @property
    def inside_length(self) -> Length:
        """The distance from the front wall to the back wall."""
        return self.length - self.end_wall * 2

    @property
    def inside_width(self) -> Length:
        """The distance from the left wall to the right wall."""
        return self.width - self.wall * 2

    def with_gap(self, gap: Length) -> "HiveBox":
        """The box with a different gap over its top bars."""
        return replace(self, gap=gap)


def stand(box: HiveBox) -> Assembly:
    """The box with its top bars, standing on z = 0. It is the reference for our hardware."""
    return Assembly("box", f"{box.name} box with its frames", (*walls_of(box), *_top_bars(box)))


def walls_of(box: HiveBox) -> tuple[Placed, ...]:
    """The left and right sides and the front and back ends, resting on z = 0.

    The frame rest is as deep as the gap plus the lug, so that the bars hang where they were measured.
    """
    rest = Cut(
        "frame rest",
        Face.BACK,
        Rectangle(ZERO, box.height - box.gap - box.bar.lug, box.inside_width, box.height),
        box.rest,
    )
    side = Part("box side", EXISTING, box.length, box.height, box.wall)
    end = Part("box end", EXISTING, box.inside_width, box.height, box.end_wall, cuts=(rest,))
    t, e, length, width = box.wall, box.end_wall, box.length, box.width
    return (
        Placed(side, Pose((ZERO, t, ZERO), "+x", "+z", "-y"), Role.EXISTING),
        Placed(side, Pose((length, width - t, ZERO), "-x", "+z", "+y"), Role.EXISTING),
        Placed(end, Pose((e, width - t, ZERO), "-y", "+z", "-x"), Role.EXISTING),
        Placed(end, Pose((length - e, t, ZERO), "+y", "+z", "+x"), Role.EXISTING),
    )


def _top_bars(box: HiveBox) -> list[Placed]:
    bar = box.bar
    lug_end = (bar.length - box.inside_length) / 2
    under = bar.thickness - bar.lug
    cuts: tuple[Cut, ...] = ()
    if under > ZERO and lug_end > ZERO:
        cuts = (
            Cut("lug", Face.BACK, Rectangle(ZERO, ZERO, lug_end, bar.width), under),
            Cut("lug", Face.BACK, Rectangle(bar.length - lug_end, ZERO, bar.length, bar.width), under),
        )
    part = Part(PartName.TOP_BAR, EXISTING, bar.length, bar.width, bar.thickness, cuts=cuts)
    x = (box.length - bar.length) / 2
    z = box.height - box.gap - bar.thickness
    first = box.first_frame - bar.width / 2
    return [Placed(part, Pose((x, first + bar.spacing * n, z)), Role.EXISTING) for n in range(box.frames)]


@dataclass(frozen=True, slots=True)
class Frame:
    """A frame below its top bar. `depth` is from the top of the top bar to the bottom of the bottom bar.

    `length` is measured outside the end bars, below the lugs. An end bar is `end_width` wide down to `shoulder` below
    the top of the frame, and `end_below` wide from there down. `comb` is the thickness of drawn comb.
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


def frame_row(box: HiveBox, pattern: HivePattern, wording: Wording = INCHES) -> PatternSize:
    """The depth of the deepest frame of the pattern that fits in the box with enough space below the frame.

    Raises InputError if even the shallowest frame is too deep, or if the pattern has no depth of a frame.
    """
    rows = [row for body in pattern.bodies if (row := pattern.size(f"frame_depth_{body}")) is not None]
    hanging = [row for row in rows if row.length <= box.height - box.gap]
    if not hanging:
        least = f" at least {wording.length(min(row.length for row in rows))} deep" if rows else ""
        raise InputError(
            Problem(
                f"{box.name} box, height",
                f"{wording.length(box.height)}, with a gap of {wording.length(box.gap)} over the top bars",
                f"room for a frame{least}",
                "Measure a frame from the top of its top bar to its lower edge, and give frame_depth.",
            )
        )
    return max(hanging, key=lambda row: row.length)


def bar_of(pattern: HivePattern) -> TopBar:
    """The top bar of a pattern that has all sizes of its frames. Raises KeyError if one is missing."""
    sizes = ("top_bar_length", "top_bar_width", "top_bar_thickness", "lug_thickness", "spacing")
    return TopBar(*(_size(pattern, name) for name in sizes))


def frame_for(box: HiveBox, depth: Length, pattern: HivePattern, wording: Wording = INCHES) -> Frame:
    """A frame of this depth for the box, with the other sizes of its pattern.

    An end bar without a size below its shoulder is straight, and a bottom bar without a width is as wide as that.
    Raises InputError if the frame does not fit, and KeyError if the pattern lacks a size.
    """
    wide = _size(pattern, "end_bar_width")
    below = pattern.size("end_bar_below")
    end_below = wide if below is None else below.length
    bottom = pattern.size("bottom_bar_width")
    frame = Frame(
        depth,
        _size(pattern, "frame_length"),
        end_width=wide,
        end_below=end_below,
        end_thickness=_size(pattern, "end_bar_thickness"),
        shoulder=ZERO if below is None else _size(pattern, "end_bar_shoulder"),
        bottom_width=end_below if bottom is None else bottom.length,
        bottom_thickness=_size(pattern, "bottom_bar_thickness"),
        comb=fact("frame.comb_thickness").length,
    )
    if depth <= box.bar.thickness + frame.bottom_thickness:
        raise InputError(
            Problem(
                f"{box.name} box, frame_depth",
                wording.length(depth),
                f"more than its two bars, {wording.length(box.bar.thickness + frame.bottom_thickness)}",
                "Measure a frame from the top of its top bar to its lower edge.",
            )
        )
    return frame


def _size(pattern: HivePattern, name: str) -> Length:
    size = pattern.size(name)
    if size is None:
        raise KeyError(f"{pattern.name} has no {name}")
    return size.length


def hang(box: HiveBox, frame: Frame) -> tuple[Placed, ...]:
    """The frames of a box as placed parts, left to right. The box's lower edge is at z = 0, its corner at x = y = 0."""
    first = _one(box, frame, box.first_frame)
    frames = [each.moved((ZERO, box.bar.spacing * n, ZERO)) for n in range(box.frames) for each in first]
    return (*frames, *(_followers(box, frame) if box.followers else ()))


def _followers(box: HiveBox, frame: Frame) -> Iterator[Placed]:
    """The follower boards: as long and deep as a frame, with lugs as long as those of a top bar."""
    bar, thick, low = box.bar, box.follower, frame.depth - box.bar.lug
    lug = (bar.length - frame.length) / 2
    cuts = tuple(
        Cut("lug", Face.SHOW, Rectangle(start, ZERO, start + lug, low), thick) for start in (ZERO, bar.length - lug)
    )
    board = Part(PartName.FOLLOWER, EXISTING, bar.length, frame.depth, thick, cuts=cuts)
    x, z = (box.length - bar.length) / 2, box.height - box.gap - frame.depth
    right = box.first_frame + bar.spacing * (box.frames - 1) + bar.spacing / 2
    for y in (right, box.first_frame - bar.spacing / 2 - thick)[: box.followers]:
        yield Placed(board, Pose((x, y + thick, z), "+x", "+z", "-y"), Role.EXISTING)


def _one(box: HiveBox, frame: Frame, y: Length) -> list[Placed]:
    """One frame, centered on the line y, with its top bar `gap` below the box's upper edge."""
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
    """The top bar, notched under its lugs, with a length `between_lugs` of full thickness."""
    lug, under = (bar.length - between_lugs) / 2, bar.thickness - bar.lug
    cuts: tuple[Cut, ...] = ()
    if under > ZERO and lug > ZERO:
        cuts = (
            Cut("lug", Face.BACK, Rectangle(ZERO, ZERO, lug, bar.width), under),
            Cut("lug", Face.BACK, Rectangle(bar.length - lug, ZERO, bar.length, bar.width), under),
        )
    return Part(PartName.TOP_BAR, EXISTING, bar.length, bar.width, bar.thickness, cuts=cuts)


def _end_bar(bar: TopBar, frame: Frame) -> Part:
    """An upright end bar, as high as the underside of the lug, with a slot for the top bar."""
    high, wide, thick = frame.depth - bar.lug, frame.end_width, frame.end_thickness
    slot, below, side = bar.thickness - bar.lug, frame.depth - frame.shoulder, (wide - frame.end_below) / 2
    cuts: list[Cut] = []
    if slot > ZERO:
        cheek = max(ZERO, (wide - bar.width) / 2)
        cuts.append(Cut("slot", Face.SHOW, Rectangle(high - slot, cheek, high, wide - cheek), thick))
    if below > ZERO and side > ZERO:
        cuts += [
            Cut("narrow part", Face.SHOW, Rectangle(ZERO, ZERO, below, side), thick),
            Cut("narrow part", Face.SHOW, Rectangle(ZERO, wide - side, below, wide), thick),
        ]
    return Part("end bar", EXISTING, high, wide, thick, cuts=tuple(cuts))
