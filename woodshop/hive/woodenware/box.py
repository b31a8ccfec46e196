"""A hive box as it stands in the yard: outside sizes, wall, frame rests, the gap over the top bars."""

from dataclasses import KW_ONLY, dataclass, replace

from woodshop.reference.materials import EXISTING
from woodshop.shape.part import Assembly, Cut, Face, Part, Placed, Pose, Rectangle, Role
from woodshop.units.lengths import ZERO, Length


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
    """The box under the hardware. Sizes are outside; `gap` is from the box's upper edge down to the top bars.

    `wall` is the thickness of the walls, `inner` what inner end walls add to it where a box has them, `rest` how
    far the frame rest reaches into each end wall.
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

    @property
    def end_wall(self) -> Length:
        """Thickness of the ends that the frames hang in."""
        return self.wall + self.inner

    @property
    def inside_length(self) -> Length:
        """From front wall to back wall."""
        return self.length - self.end_wall * 2

    @property
    def inside_width(self) -> Length:
        """From left wall to right wall."""
        return self.width - self.wall * 2

    def with_gap(self, gap: Length) -> "HiveBox":
        """The same box with another gap over its top bars."""
        return replace(self, gap=gap)


def stand(box: HiveBox) -> Assembly:
    """The box with its top bars, standing on z = 0: what our hardware is measured against."""
    return Assembly("box", f"{box.name} box with its frames", (*walls_of(box), *_top_bars(box)))


def walls_of(box: HiveBox) -> tuple[Placed, ...]:
    """Left and right side, front and back end, standing on z = 0.

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
    part = Part("top bar", EXISTING, bar.length, bar.width, bar.thickness, cuts=cuts)
    x = (box.length - bar.length) / 2
    z = box.height - box.gap - bar.thickness
    first = box.width / 2 - bar.spacing * (box.frames - 1) / 2 - bar.width / 2
    return [Placed(part, Pose((x, first + bar.spacing * n, z)), Role.EXISTING) for n in range(box.frames)]
