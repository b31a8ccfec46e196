"""The box under the hardware, settled: from the table, from given sizes, or from its owner's measurements."""

from woodshop.design.batch import Default
from woodshop.design.contradictions import measured_contradictions
from woodshop.design.measured_boxes import MeasuredBox
from woodshop.design.tables import HivesTable
from woodshop.errors import InputError, Problem
from woodshop.hive.woodenware.box import HiveBox, TopBar
from woodshop.reference import boxes
from woodshop.reference.facts import Fact, fact
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import LengthUnit

NATIONAL = "British National"


def settled_box(
    table: HivesTable, measured: MeasuredBox | None, mark: Length, defaults: list[Default], unit: LengthUnit = "in"
) -> tuple[HiveBox, tuple[Length, ...]]:
    """The box and the gaps that were measured over its top bars; none means that the table's was taken.

    What is given in the design must be among what was measured, and that beats the table. Averages are brought to the
    nearest mark of the tape. Raises InputError for a box that its frames cannot hang in.
    """
    where = table.name or f"{table.frames}-frame hives"
    taken = _Taken(table, measured, mark, where, defaults)
    national = table.pattern == NATIONAL
    nominal = height_row(table.height, national).length if isinstance(table.height, str) else None
    found = measured_contradictions(where, table, measured, mark, nominal)
    if found:
        raise InputError(*found)
    width = taken.width()
    length = taken.size("length", "box.national_side" if national else "box.length")
    wall = taken.size("wall", "box.wall")
    gaps = table.gap if isinstance(table.gap, tuple) else () if table.gap is None else (table.gap,)
    if not gaps and measured is not None:
        gaps = measured.gaps
    gap_row = fact("box.national_gap" if _is_at_bottom(table, gaps, where, defaults) else "box.gap_over_top_bars")
    if not gaps:
        defaults.append(Default(where, "gap over the top bars", f"{gap_row.value} - NOT MEASURED", gap_row.cite))
    bar = _national_bar() if national else _langstroth_bar()
    inner, rest = ZERO, boxes.rabbet_width()
    if national:
        inside = taken.listed("inside length", "box.national_inside_length")
        inner = (length - inside) / 2 - wall
        rest = (bar.length - inside) / 2 + fact("box.national_end_play").length
    box = HiveBox(
        _name(table, width, unit),
        table.frames,
        length,
        width=width,
        height=taken.height(national),
        wall=wall,
        gap=min(gaps) if gaps else gap_row.length,
        rest=rest,
        bar=bar,
        inner=inner,
    )
    _sane(box, where)
    return box, gaps


def _is_at_bottom(table: HivesTable, gaps: tuple[Length, ...], where: str, defaults: list[Default]) -> bool:
    """Whether the bars lie level with the box, and the bee space is below the frames."""
    if table.bee_space is None:
        side = "bottom" if table.pattern == NATIONAL else "top"
        defaults.append(Default(where, "bee_space", side, f"the {table.pattern} pattern's own"))
        return side == "bottom"
    least = fact("bee_space.amber_least")
    if table.bee_space == "bottom" and gaps and min(gaps) >= least.length:
        given = f"'bottom', with a gap of {min(gaps)} over the top bars"
        wanted = 'bars about level with the box, or bee_space = "top"'
        raise InputError(Problem(f"{where}, bee_space", given, wanted, "Look where the space is."))
    return table.bee_space == "bottom"


def height_row(name: str, national: bool) -> Fact:
    """The row of a "deep", "medium" or "shallow" box; a British National has a brood box and a super."""
    if national:
        return fact("box.national_brood_height" if name == "deep" else "box.national_super_height")
    return fact(f"box.height_{name}")


def rim_size(table: HivesTable, box: HiveBox, defaults: list[Default]) -> tuple[Length, Length]:
    """Length and width outside of the rims, quilt boxes and cake rims for these hives: as given, else the box's."""
    where = table.name or f"{table.frames}-frame hives"
    sizes = []
    for key, given, own in (
        ("rim_length", table.rim_length, box.length),
        ("rim_width", table.rim_width, box.width),
    ):
        if given is None:
            defaults.append(Default(where, key, str(own), "the box's own"))
        sizes.append(given or own)
    return sizes[0], sizes[1]


def _name(table: HivesTable, width: Length, unit: LengthUnit) -> str:
    """What the box is called: by the inches it is sold as, or as it was measured in the design's unit."""
    if table.pattern == NATIONAL:
        return f"{NATIONAL} {table.frames}-frame"
    known = table.frames in boxes.FRAMES and width in boxes.box_widths(table.frames)
    if known:
        return f"{table.frames}-frame {width.number()}"
    return f"{table.frames}-frame {width.number() if unit == 'in' else width.text(unit)} measured"


class _Taken:
    """Where each size of a box comes from, with the defaults listed as they are taken."""

    def __init__(
        self, table: HivesTable, measured: MeasuredBox | None, mark: Length, where: str, defaults: list[Default]
    ) -> None:
        self.table, self.measured, self.mark, self.where, self.defaults = table, measured, mark, where, defaults

    def _measured(self, name: str) -> Length | None:
        size: Length | None = None if self.measured is None else getattr(self.measured, name)
        return None if size is None else (size + self.mark / 2).down_to(self.mark)

    def listed(self, name: str, key: str) -> Length:
        row = fact(key)
        self.defaults.append(Default(self.where, name, row.value, row.cite))
        return row.length

    def size(self, name: str, key: str) -> Length:
        given: Length | None = getattr(self.table, name)
        return given or self._measured(name) or self.listed(name, key)

    def width(self) -> Length:
        given = self.table.width or self._measured("width")
        if given is not None:
            return given
        if self.table.pattern == NATIONAL:
            return self.listed("width", "box.national_side")
        if self.table.frames not in boxes.FRAMES:
            kinds = ", ".join(map(str, boxes.FRAMES))
            raise InputError(
                Problem(
                    f"{self.where}, width",
                    f"none, for a box of {self.table.frames} frames",
                    f"the outside width; the table knows boxes of {kinds} frames only",
                    "Measure the box across its front, and give width.",
                )
            )
        size = boxes.box_size(self.table.frames)
        self.defaults.append(Default(self.where, "width", str(size.width), size.cite))
        return size.width

    def height(self, national: bool) -> Length:
        """That of the box under the board: as given, or as the last of the boxes given, or as measured."""
        asked = self.table.height
        if asked is None and self.table.boxes is not None:
            asked = self.table.boxes[-1]
        if isinstance(asked, Length):
            return asked
        measured = self._measured("height")
        if measured is not None:
            return measured
        row = height_row(asked or "deep", national)
        self.defaults.append(Default(self.where, f"height, {asked or 'deep'}", row.value, row.cite))
        return row.length


def _langstroth_bar() -> TopBar:
    frame = boxes.frame_size("deep")
    return TopBar(
        frame.top_bar_length, frame.top_bar_width, frame.top_bar_thickness, frame.lug_thickness, frame.end_bar_width
    )


def _national_bar() -> TopBar:
    thick = fact("frame.national_top_bar_thickness").length
    return TopBar(
        fact("frame.national_top_bar_length").length,
        fact("frame.national_top_bar_width").length,
        thick,
        thick,
        fact("frame.end_bar_width").length,
    )


def _sane(box: HiveBox, where: str) -> None:
    """A box that its frames cannot hang in is a slip of the pen."""
    if box.inside_length >= box.bar.length:
        what = f"{box.inside_length} inside, where a {box.bar.length} top bar falls through"
        raise InputError(Problem(f"{where}, length", what, "a box in which the frames hang", "Measure it again."))
    if box.inside_length + box.rest * 2 < box.bar.length:
        what = f"{box.length} outside, where a {box.bar.length} top bar does not go in"
        raise InputError(Problem(f"{where}, length", what, "a box in which the frames hang", "Measure it again."))
    needed = box.bar.spacing * box.frames
    if box.inside_width < needed:
        what = f"{box.inside_width} inside"
        wanted = f"at least {needed} for {box.frames} frames"
        raise InputError(Problem(f"{where}, width", what, wanted, "Give the outside width, and check the frames."))
    if box.inside_width >= box.bar.spacing * (box.frames + 2):
        what = f"{box.inside_width} inside, room for two frames more"
        raise InputError(Problem(f"{where}, width", what, f"a box for {box.frames} frames", "Measure it again."))
    if box.rest >= box.end_wall:
        what = f"walls {box.end_wall} thick, which the {box.rest} frame rest goes through"
        raise InputError(Problem(f"{where}, wall", what, f"walls of more than {box.rest}", "Measure it again."))
    if box.gap + box.bar.thickness >= box.height:
        raise InputError(
            Problem(
                f"{where}, gap", str(box.gap), "a gap much less than the box is high", "Measure from the edge down."
            )
        )
