"""The pages about the thin-rip stop: how to make it from scrap, how to set it, and how to rip strips against it."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from woodshop.cutting.order.job_sequence import STOP
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.design.batch import Batch
from woodshop.documents.packet.layouts import is_resawn, numbered_layouts
from woodshop.documents.packet.measure_first import trued_width
from woodshop.drawing.values.model import (
    Align,
    Beside,
    Caution,
    Circle,
    Column,
    Dimension,
    Drawing,
    Figure,
    Heading,
    KeepTogether,
    Kind,
    Label,
    Line,
    Paragraph,
    Point,
    Region,
    Section,
    Side,
    Steps,
    Table,
    View,
)
from woodshop.hardware.items.spacer_strips import thickness_limits
from woodshop.hardware.registry import BoardPart
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.cut_tools import how_to_true
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length, inch, millimetre


@dataclass(slots=True)
class _Strips:
    """All strips of one width in a batch: their number, their layouts, and the marks of the parts made from them."""

    count: int = 0
    layouts: Counter[str] = field(default_factory=Counter)
    marks: dict[str, None] = field(default_factory=dict)


def thin_rip_chapter(planned: PlannedBatch) -> Section:
    """The two pages about the stop. The result is empty if no strip is ripped against it."""
    batch = planned.batch
    widths = strips_by_width(planned)
    if batch.saw.thin_rip != STOP or not widths:
        return Section("", ())
    made = stop_sizes(batch.unit, widths)
    hand = batch.saw.wood_in_hand.text(batch.unit)
    making = _making_steps(made)
    beginning = (
        Paragraph(
            "Strips come off on the side of the blade away from the fence. The stop sets their thickness. Set the "
            "stop once for each thickness, and move the fence for each strip. Each strip then comes out at that "
            "thickness, even if the board is slightly wider or narrower."
        ),
        Heading("Make the stop", 2),
        Beside(
            (
                Paragraph(
                    f"You need {made.stock} from scrap. Hardware: one {made.bolt}, a nut, a threaded insert, and two "
                    f"flat-head wood screws {made.screws} for the runner. You turn the bolt from the side with an "
                    "open-end wrench. Saws differ, so measure your own saw for every size that depends on it."
                ),
                Steps(making[:2]),
            ),
            (Figure(_parts(batch, made), "", inch(2)),),
        ),
    )
    ripped = {number for strips in widths.values() for number in strips.layouts}
    widest, first = next(iter(widths.items()))
    is_resawing = any(is_resawn(layout) and layout.number in ripped for layout in numbered_layouts(planned))
    crooked = batch.saw.tools.for_edges(is_straight=False)
    narrowest = min(trued_width(each) for each in numbered_layouts(planned) if each.number in first.layouts)
    after = "after the boards are planed and " if is_resawing else ""
    blocks = (
        KeepTogether(beginning),
        Steps(making[2:], 3),
        Heading("Set the stop and rip the strips", 2),
        Caution(
            "The whole stop stays ahead of the blade's front teeth, on your side of them. Beside or behind them it "
            "would pinch the strip against the blade, and the saw would throw the strip. Switch the saw off and wait "
            "until the blade has stopped before you move the fence or the stop. Keep the guard and riving knife in "
            f"place, and use the push block. Keep at least {hand} of the board between blade and fence. The saw "
            "maker's manual comes first. If it rules out narrow rips or a stop like this, buy ready-made strips.",
            "Caution, narrow rips",
        ),
        _table(widths, planned),
        Heading("Set the stop, once for each thickness", 3),
        Steps(_setting_steps(batch, made)),
        Figure(_setup(batch, made, widest, narrowest), _SEEN, inch("2 1/4"), say_scale=False, free_scale=True),
        Heading(f"Rip the strips, {after}before anything else is ripped", 3),
        Steps(_ripping_steps(hand, batch.saw.tools.thin_strip.text(batch.unit), crooked)),
    )
    return Section("Thin-rip stop", blocks)


_SEEN = (
    "The saw from above. Push the board up the page. Stand at the bottom of the page, to one side of the strip's line."
)


def stop_hardware(planned: PlannedBatch) -> tuple[str, ...]:
    """The hardware to buy for the stop. The result is empty if none is made."""
    widths = strips_by_width(planned)
    if planned.batch.saw.thin_rip != STOP or not widths:
        return ()
    made = stop_sizes(planned.batch.unit, widths)
    return (f"for the thin-rip stop, one {made.bolt}, a nut, a threaded insert, and 2 flat-head screws {made.screws}",)


def stop_bits(planned: PlannedBatch) -> tuple[str, ...]:
    """The drill bits for making the stop. The result is empty if none is made."""
    if not stop_hardware(planned):
        return ()
    made = _METRIC if planned.batch.unit == "mm" else _INCHES
    return (
        f"{made.say(made.hole)} (or the size your threaded insert needs)",
        made.pilot.rpartition(", ")[2].partition(" into")[0],
    )


def strips_by_width(planned: PlannedBatch) -> dict[Length, _Strips]:
    """The narrow strips that are ripped, keyed by width, widest first."""
    found: dict[Length, _Strips] = {}
    for layout in numbered_layouts(planned):
        if not layout.is_sawn:
            continue
        grid, job = layout.plan.job.grid, layout.plan.job.job
        for cut in saw_cuts(job, layout.layout):
            if cut.is_narrow:
                width, count = grid * cut.strip, cut.count * layout.times
                own = found.setdefault(width, _Strips())
                own.count += count
                own.layouts[layout.name.removeprefix("Layout ")] += count
                own.marks |= dict.fromkeys(piece.mark for piece in layout.pieces if piece.width == width)
    return dict(sorted(found.items(), reverse=True))


def strip_limits(planned: PlannedBatch) -> dict[Length, tuple[Length, Length]]:
    """The limits for the thickness of spacer strips in their hives, keyed by the thickness to which they are cut."""
    found: dict[Length, tuple[Length, Length]] = {}
    for unit in planned.units:
        strips = (
            unit.assembly.named("strip") if unit.line.item.board_part is BoardPart.STRIPS and unit.line.count else ()
        )
        if strips:
            middles = [(placed.box.low[0] + placed.box.high[0]) / 2 for placed in strips]
            limits, thick = thickness_limits(unit.line.setting, middles), strips[0].part.thickness
            if limits.least is not None:
                low, high = found.get(thick, (limits.least, limits.most))
                found[thick] = (max(low, limits.least), min(high, limits.most))
    return found


def _table(widths: dict[Length, _Strips], planned: PlannedBatch) -> Table:
    unit, limits = planned.batch.unit, strip_limits(planned)
    good = {width: " to ".join(each.number(unit) for each in limits.get(width, ())) for width in widths}
    rows = tuple(
        (
            "[ ]",
            width.number(unit),
            good[width] or "as set",
            str(own.count),
            ", ".join(own.marks),
            ", ".join(f"{name} ({count})" for name, count in own.layouts.items()),
        )
        for width, own in widths.items()
    )
    columns = (
        Column("", weight=1),
        Column("stop to tooth", weight=4, cut_size=True),
        Column("limits", weight=5),
        Column("rips", Align.RIGHT, weight=3),
        Column("for", weight=3),
        Column("layout (rips in all its boards)", weight=14),
    )
    return Table(columns, rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class StopSizes:
    """The sizes of the stop in the unit of the shop; x runs from the blade to the left, y along the feed."""

    body_length: Length
    body_width: Length
    thick: Length
    runner_length: Length
    runner_width: Length
    runner_thick: Length
    slit: Length
    nose: Length
    ahead: Length
    slot: Length
    hole: Length
    deep: Length
    head: Length
    nut: Length
    step: Length
    thread: str
    turn: str
    screws: str
    pilot: str
    stock: str
    unit: str

    bolt_length: Length = ZERO

    @property
    def bolt(self) -> str:
        """The bolt as a store names it."""
        if self.unit == "mm":
            return f"fully threaded {self.thread} x {self.bolt_length.number(self.unit)} hex-head bolt"
        return f"fully threaded {self.thread} hex-head bolt {self.say(self.bolt_length)} long"

    def say(self, length: Length) -> str:
        """A size as text, with its unit."""
        return length.text(self.unit)


def stop_sizes(unit: str, widths: Iterable[Length]) -> StopSizes:
    """The sizes of the stop, from separate inch and metric designs, with a bolt for strips of these `widths`.

    With the widest strip, the bolt is deepest in its hole. Its length under the head is at most the hole's depth plus
    the space between hole and head. If that space is too small for the nut, the nose is farther from the teeth.
    """
    made = _METRIC if unit == "mm" else _INCHES
    widest = max(widths)
    nose = max(made.nose, (widest + made.head + made.nut).up_to(made.step))
    return replace(made, nose=nose, bolt_length=(made.deep + nose - widest - made.head).down_to(made.step))


_INCHES = StopSizes(
    body_length=inch(7),
    body_width=inch("3 1/2"),
    thick=inch("3/4"),
    runner_length=inch(6),
    runner_width=inch("3/4"),
    runner_thick=inch("3/8"),
    slit=inch(2),
    nose=inch(1),
    ahead=inch(1),
    slot=inch("4 1/2"),
    hole=inch("3/8"),
    deep=inch(1),
    head=inch("3/16"),  # slightly larger than the standard head and nut of a 1/4-20
    nut=inch("1/4"),
    step=inch("1/4"),
    thread="1/4-20",
    turn="0.05 in",
    screws="#8 x 1 in",
    pilot="11/64 in through the body, 1/8 in into the runner",
    stock="3/4 in plywood and a hardwood strip",
    unit="in",
)
_METRIC = StopSizes(
    body_length=millimetre(180),
    body_width=millimetre(90),
    thick=millimetre(18),
    runner_length=millimetre(150),
    runner_width=millimetre(19),
    runner_thick=millimetre("9.5"),
    slit=millimetre(50),
    nose=millimetre(25),
    ahead=millimetre(25),
    slot=millimetre(115),
    hole=millimetre(9),
    deep=millimetre(25),
    head=millimetre("4.5"),  # slightly larger than the standard head and nut of an M6
    nut=millimetre(6),
    step=millimetre(5),
    thread="M6",
    turn="1 mm",
    screws="4 x 25",
    pilot="4.5 mm through the body, 3 mm into the runner",
    stock="18 mm plywood and a hardwood strip",
    unit="mm",
)


def _setting_steps(batch: Batch, made: StopSizes) -> tuple[str, ...]:
    above = fact("saw.blade_above_work").length if batch.unit == "in" else millimetre("3")
    return (
        f"Unplug the saw. Raise the blade until its teeth show {above.text(batch.unit)} above the board.",
        "Lift the guard. Slide the stop along the slot until the bolt's head is beside the foremost tooth. Turn the "
        "blade by hand to a tooth that leans toward the stop.",
        "Turn the bolt with a wrench until a spacer of the strip's thickness just fits between tooth and bolt head: a "
        f"drill bit, or scrap that you measured. One turn of the bolt is {made.turn}. Tighten the nut; recheck.",
        f"Pull the stop toward you until the whole stop is at least {made.say(made.ahead)} ahead of the front teeth. "
        "Tap in the wedge, and add a clamp if one reaches. Push the stop hard; it must not move. Lower the guard.",
        "Plug in the saw. Rip a strip of scrap and measure it. Unplug the saw, adjust the bolt, and rip another "
        "strip, until a strip is within the limits at both ends.",
    )


def _ripping_steps(hand: str, thin: str, crooked: str) -> tuple[str, ...]:
    return (
        f"Both edges of the board must be straight. If one is crooked, {how_to_true(crooked)}. Measure the width "
        "again. Lay one edge against the fence; strips come off the other edge.",
        "With the saw off and the blade stopped, unlock the fence. Move fence and board together until the board just "
        "touches the bolt head, ahead of the blade. Do not press. Lock the fence.",
        "With the guard down, the riving knife in place and the board clear of the blade, switch on. Push the board "
        "through with the push block on the wide part, between blade and fence. Never push the strip, and stand out of "
        "its line.",
        "Switch off and wait until the blade has stopped. Take the strip away and mark its layout on it. Then move the "
        "fence for the next strip. Measure a strip every so often, because the stop may have moved.",
        f"Stop when a strip would leave less than {hand} between blade and fence. The layouts end before that.",
        f"Crosscut strips under {thin} thick by hand in a miter box, or taped in a bundle. Never cut them loose on a "
        "power saw.",
    )


def _making_steps(made: StopSizes) -> tuple[str, ...]:
    say = made.say
    return (
        f"Body: plywood or flat hardwood, {say(made.body_length)} x {say(made.body_width)} x {say(made.thick)}. Cut it "
        "from a piece that is long enough to hold, or by hand. Its long side lies across the table.",
        f"Nose: in the middle of one end, {say(made.thick / 2)} above the lower face (at left in the drawing), drill a "
        f"hole {say(made.deep)} deep for the insert: {say(made.hole)} in diameter, or the size the insert needs. Screw "
        "the insert in flush with the end. Put the nut on the bolt and screw the bolt into the insert. File the bolt's "
        "head smooth.",
        f"Runner: hardwood {say(made.runner_length)} long, as wide as your miter slot and slightly thinner than "
        f"the slot is deep (in the drawing, {say(made.runner_width)} x {say(made.runner_thick)}). The runner must "
        "slide without play.",
        f"Drill a small hole through the runner {say(made.slit)} from one end. Saw a slit from that end to the hole. "
        "Make a thin hardwood wedge for the slit. Tapped in, the wedge spreads the runner and locks it in the slot.",
        "Unplug the saw. Lay the runner in the miter slot, on the side of the blade opposite the fence. Lay the body "
        f"across it, square to the blade, with its nose {say(made.nose)} from the line of the teeth. Point the slit "
        "toward you, clear of the body, and set the runner's other end flush with the body's far side. Mark the "
        "runner's center line on the body.",
        f"Drill for two screws on that line, {say(made.body_width / 4)} from each long side of the body: {made.pilot}. "
        f"Screw the runner on from above with the {made.screws} screws, countersunk.",
        "With the bolt in, slide the stop past the blade. The stop must not rock or touch the blade.",
    )


def _corners(x0: Length, y0: Length, x1: Length, y1: Length) -> tuple[Point, Point, Point, Point]:
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def _box(x0: Length, y0: Length, x1: Length, y1: Length, kind: Kind = Kind.OUTLINE) -> Line:
    return Line(_corners(x0, y0, x1, y1), kind, closed=True)


def _setup(batch: Batch, made: StopSizes, widest: Length, board: Length) -> Drawing:
    """The stop on the saw, seen from above: blade, fence, board, slot. The left side of the teeth is at x = 0.

    `board` is the width of the board before the strip is ripped, when its edges are trued.
    """
    strip, kerf = widest, batch.saw.rip_kerf
    fence = inch("1 1/2")
    right = board - strip
    low, high = inch("-7"), inch(6)
    tail = ZERO - made.ahead  # the side of the body that faces the blade
    front = tail - made.body_width
    middle = (tail + front) / 2
    nose = ZERO - made.nose
    slot = ZERO - made.slot
    head = inch("1/4")
    far = nose - made.body_length
    lines = (
        _box(inch("-9"), low, right + fence + inch(1), high, Kind.THIN),
        Line(((slot, low), (slot, high)), Kind.THIN),
        Line(((slot - made.runner_width, low), (slot - made.runner_width, high)), Kind.THIN),
        _box(right, low, right + fence, high),
        _box(ZERO, ZERO, kerf, inch("5 5/8"), Kind.CUT),
        _box(ZERO - strip, low, right, inch("-1/2")),
        _box(far, front, nose, tail),
        _box(slot - made.runner_width, front - inch("2 1/2"), slot, front),
        Line(((slot - made.runner_width / 2, front - inch("2 1/2")), (slot - made.runner_width / 2, front)), Kind.THIN),
        _box(nose, middle - inch("1/8"), ZERO - strip - head, middle + inch("1/8")),
        _box(ZERO - strip - head, middle - inch("1/4"), ZERO - strip, middle + inch("1/4")),
        Line(((ZERO, low), (ZERO, ZERO)), Kind.CENTRE),
    )
    labels = (
        Label("fence", (right + fence / 2, inch(4)), turn=True),
        Label("board", ((right - strip) / 2, inch("-4"))),
        Label("stop", ((far + nose) / 2 + inch("1/4"), middle), strong=True),
        Label("blade: front teeth", (inch(2), inch(2)), target=(kerf, ZERO)),
        Label("bolt head touches the board", (inch("-8"), inch(4)), target=(ZERO - strip, middle + inch("1/4"))),
        Label("runner, wedge in its slit", (inch("-8"), low), target=(slot, front - inch(2))),
    )
    top = inch("5 5/8")
    dimensions = (
        Dimension((far, tail), (far, ZERO), Side.LEFT, note="or more ahead"),
        Dimension((kerf, top), (right, top), Side.ABOVE, note=f"here; keep {batch.saw.wood_in_hand.text(batch.unit)}"),
    )
    regions = (Region(_corners(far, front, nose, tail)),)
    view = View("", lines, (), regions, dimensions, labels)
    return Drawing("Thin-rip stop on the saw", "thin-rip stop", (view, _distance(widest, kerf)), unit=batch.unit)


def _distance(strip: Length, kerf: Length) -> View:
    """An enlarged view of the setting of the stop, from the side of a tooth (x = 0) to the bolt head."""
    head, tall = inch("1/4"), inch("1/2")
    lines = (
        _box(ZERO, ZERO, kerf, inch(1), Kind.CUT),
        _box(ZERO - strip - head, inch("1/4"), ZERO - strip, inch("1/4") + tall),
        _box(ZERO - strip - head * 2, inch("3/8"), ZERO - strip - head, inch("5/8")),
    )
    dimensions = (Dimension((ZERO - strip, inch("3/4")), (ZERO, inch(1)), Side.ABOVE, note="strip"),)
    labels = (
        Label("tooth", (inch("1/2"), inch("1/2")), target=(kerf, inch("1/2"))),
        Label("bolt head", (ZERO - strip - head, inch("-1/4")), target=(ZERO - strip - head / 2, inch("1/4"))),
    )
    return View("set with a spacer", lines, (), (), dimensions, labels, cell=(1, 0), enlarged=4)


def _parts(batch: Batch, made: StopSizes) -> Drawing:
    """The views of the body and the runner, each from above and from its end."""
    length, width, thick = made.body_length, made.body_width, made.thick
    at = made.slot + made.runner_width / 2 - made.nose  # the middle of the runner, from the nose end
    holes = tuple(Circle((at, y), inch("3/16"), through=True) for y in (width / 4, width * 3 / 4))
    deep = _box(ZERO, width / 2 - made.hole / 2, made.deep, width / 2 + made.hole / 2, Kind.HIDDEN)
    body = View(
        "body, from above",
        (_box(ZERO, ZERO, length, width), deep),
        holes,
        dimensions=(
            Dimension((ZERO, ZERO), (length, ZERO), Side.BELOW),
            Dimension((length, ZERO), (length, width), Side.RIGHT),
            Dimension((ZERO, width), (at, width), Side.ABOVE, note="here: step 5"),
            Dimension((ZERO, width / 2), (made.deep, width / 2), Side.BELOW),
        ),
        cell=(1, 1),
    )
    nose = View(
        "nose, on edge",
        (_box(ZERO, ZERO, thick, width),),
        (Circle((thick / 2, width / 2), made.hole),),
        dimensions=(
            Dimension((ZERO, ZERO), (thick, ZERO), Side.BELOW),
            Dimension((ZERO, ZERO), (ZERO, width / 2), Side.LEFT),
            Dimension((ZERO, width), (thick / 2, width), Side.ABOVE),
        ),
        cell=(0, 1),
    )
    wide, long = made.runner_width, made.runner_length
    runner = View(
        "runner, from above",
        (_box(ZERO, ZERO, long, wide), Line(((ZERO, wide / 2), (made.slit, wide / 2)), Kind.CUT)),
        (Circle((made.slit, wide / 2), inch("1/8"), through=True),),
        dimensions=(
            Dimension((ZERO, ZERO), (long, ZERO), Side.BELOW),
            Dimension((long, ZERO), (long, wide), Side.RIGHT),
            Dimension((ZERO, wide), (made.slit, wide), Side.ABOVE, note="slit"),
        ),
        cell=(1, 0),
    )
    end = View(
        "runner's end",
        (_box(ZERO, ZERO, made.runner_thick, wide),),
        dimensions=(Dimension((ZERO, ZERO), (made.runner_thick, ZERO), Side.BELOW),),
        cell=(0, 0),
    )
    return Drawing("Thin-rip stop, parts", "thin-rip stop", (body, nose, runner, end), unit=batch.unit)
