"""Sizes of Langstroth boxes and frames, and the variants that manufacturers sell."""

from dataclasses import KW_ONLY, dataclass

from woodshop.reference.facts import Fact, fact, group
from woodshop.units.lengths import Length, read_length

FRAMES = (5, 8, 10)


@dataclass(frozen=True, slots=True)
class BoxSize:
    """A published box: outside length and width, and the facts they came from.

    `id` has the form "10-frame 16 1/4": the number of frames and the outside width in inches.
    """

    id: str
    frames: int
    length: Length
    _: KW_ONLY
    width: Length
    wall: Length
    rows: tuple[Fact, ...]

    @property
    def inside_length(self) -> Length:
        """The outside length minus two walls."""
        return self.length - self.wall * 2

    @property
    def inside_width(self) -> Length:
        """The outside width minus two walls."""
        return self.width - self.wall * 2

    @property
    def cite(self) -> str:
        """The source of the width."""
        return self.rows[1].cite


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameSize:
    """A frame: its top bar and lugs, its depth measured down from the top of the top bar, and its end bars."""

    name: str
    top_bar_length: Length
    top_bar_width: Length
    top_bar_thickness: Length
    lug_thickness: Length
    length: Length
    depth: Length
    end_bar_width: Length


def box_widths(frames: int) -> tuple[Length, ...]:
    """Every outside width published for a box of `frames` frames, the default first. Raises KeyError."""
    return tuple(row.length for row in _width_rows(frames))


def box_name(frames: int, width: Length, unit: str = "in") -> str:
    """The name of a published box: its frames and its outside width: inches, or whole millimeters if `unit` is "mm".

    >>> box_name(10, read_length("16 1/4")), box_name(10, read_length("16 1/4"), "mm")
    ('10-frame 16 1/4', '10-frame 413')
    """
    return f"{frames}-frame {round(width.mm) if unit == 'mm' else width.number()}"


def box_size(frames: int, width: str | None = None) -> BoxSize:
    """The box for `frames` frames; `width` is its outside width ("16", "13 7/8 in"), or None for the default width.

    Raises KeyError for an unpublished width, and ValueError if `width` is not a length.

    >>> box_size(10).id, str(box_size(10).inside_width)
    ('10-frame 16 1/4', '14 3/4 in')
    """
    sizes = [size for size in box_sizes() if size.frames == frames]
    if not sizes:
        raise KeyError(f"no box of {frames} frames; there are {' and '.join(map(str, FRAMES))}")
    if width is None:
        return sizes[0]
    wanted = read_length(width)
    for size in sizes:
        if size.width == wanted:
            return size
    known = ", ".join(size.width.text() for size in sizes)
    raise KeyError(f"no {frames}-frame box {wanted} wide; there are {known}")


def box_sizes() -> tuple[BoxSize, ...]:
    """Every published box: 8-frame boxes first, and the default width first in each group."""
    length, wall_row = fact("box.length"), fact("box.wall")
    return tuple(
        BoxSize(
            f"{frames}-frame {row.length.number()}",
            frames,
            length.length,
            width=row.length,
            wall=wall_row.length,
            rows=(length, row, wall_row),
        )
        for frames in FRAMES
        for row in _width_rows(frames)
    )


def box_height(name: str) -> Length:
    """The default height of a "deep", "medium" or "shallow" box. Raises KeyError for any other name."""
    return fact(f"box.height_{name}").length


def wall() -> Length:
    """The thickness of a box wall."""
    return fact("box.wall").length


def rabbet_width() -> Length:
    """The depth of the frame rest, the rabbet cut into the end of a box."""
    return fact("box.rabbet_width").length


def frame_depth(name: str) -> Length:
    """The outside depth of a "deep", "medium" or "shallow" frame. Raises KeyError."""
    return fact(f"frame.depth_{name}").length


def frame_size(name: str) -> FrameSize:
    """The frame for a "deep", "medium" or "shallow" box. Raises KeyError for any other name."""
    return FrameSize(
        name=name,
        top_bar_length=fact("frame.top_bar_length").length,
        top_bar_width=fact("frame.top_bar_width").length,
        top_bar_thickness=fact("frame.top_bar_thickness").length,
        lug_thickness=fact("frame.lug_thickness").length,
        length=fact("frame.length").length,
        depth=frame_depth(name),
        end_bar_width=fact("frame.end_bar_width").length,
    )


def _width_rows(frames: int) -> tuple[Fact, ...]:
    if frames not in FRAMES:
        raise KeyError(f"no box of {frames} frames; there are {' and '.join(map(str, FRAMES))}")
    return group(f"box.width_{frames}")
