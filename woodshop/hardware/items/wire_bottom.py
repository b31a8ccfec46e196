"""The wire bottom of a fondant board: cut along the wires, in whole cells, with enough of its edge on wood."""

from dataclasses import dataclass
from fractions import Fraction

from woodshop.hardware.board import BOARD_PLACE, Setting
from woodshop.hardware.gauge_steps import gauge_test
from woodshop.hardware.registry import BoardPart, item
from woodshop.reference.facts import fact
from woodshop.reference.materials import Mesh, mesh_material
from woodshop.shape.part import Assembly, Cut, Face, Fastener, Part, Placed, Pose, Rectangle, Spec
from woodshop.units.lengths import ZERO, Length, inch, millimetre
from woodshop.units.wording import nearest


@dataclass(frozen=True, slots=True)
class SheetSide:
    """One side of a mesh sheet: length, whole cells, landing at each end, and whether it is cut on the wires."""

    length: Length
    cells: int
    on_wire: bool
    landing: Length


def sheet_side(
    inside: Length, most: Length, landing: Length, *, pitch: Length, wire: Length, mark: Length
) -> SheetSide:
    """The shortest side in whole cells that has at least `landing` at both ends and is at most `most` long.

    `inside` is the distance between the walls. n cells measure n pitches plus one wire. If no whole number of cells
    fits, the sheet is cut between wires, on a mark of the tape: to the wanted landing, or to `most` if that is less.
    """
    wanted = inside + landing * 2
    cells = -int(-(wanted - wire).mm // pitch.mm)
    length = pitch * cells + wire
    if length <= most:
        return SheetSide(length, cells, True, (length - inside) / 2)
    length = min(wanted, most).down_to(mark)
    return SheetSide(length, (length - wire) // pitch, False, (length - inside) / 2)


def sheet(setting: Setting) -> tuple[SheetSide, SheetSide]:
    """The sides of the sheet along and across the hive, as its mounting requires."""
    board, inside, wire = setting.board, setting.inside, setting.mesh
    play = setting.size("wire_bottom.groove_play")
    sides = []
    for low, high, outer in (
        (inside.x0, inside.x1, setting.outside.long),
        (inside.y0, inside.y1, setting.outside.wide),
    ):
        clear = high - low
        if board.mounting == "stapled under":
            most, landing = outer, board.landing
        elif board.mounting == "flush rabbet":
            most, landing = clear + (board.rabbet_width - play / 2) * 2, board.landing
        else:
            most = clear + (board.groove_depth - play) * 2
            landing = min(board.landing, board.groove_depth - play)
        sides.append(sheet_side(clear, most, landing, pitch=wire.pitch, wire=wire.wire, mark=setting.mark))
    return sides[0], sides[1]


def staple_line(side: SheetSide, kind: Mesh, mark: Length) -> Length:
    """How far from the inner face of the wood the staples at the ends of one side go, on a mark of the tape.

    This is the middle of the landing, or the outermost whole wire along the wood if that is nearer: the sugar pulls
    this wire against the staples. A sheet that is cut off the wire has the same stubs at both ends.
    """
    stub = (side.length - kind.pitch * side.cells - kind.wire) / 2
    wire, middle = side.landing - stub - kind.wire, side.landing / 2
    line = min(middle, wire) if wire > ZERO else middle
    return max(line.down_to(mark), min(line, mark))


@item("wire bottom", title="Wire bottom", on_rim=True, place=BOARD_PLACE, board_part=BoardPart.FLOOR)
def wire_bottom(setting: Setting) -> Assembly:
    """The sheet of mesh that carries the sugar, and the staples that hold it.

    +-+-+-+-+-+-+
    +-+-+-+-+-+-+    n cells = n pitches + one wire
    +-+-+-+-+-+-+
    """
    board, box, kind = setting.board, setting.box, setting.mesh
    along, across = sheet(setting)
    notes = [f"{along.cells} x {across.cells} cells, {along.cells + 1} x {across.cells + 1} wires"]
    for side, word in ((along, "long"), (across, "short")):
        if not side.on_wire:
            notes.append(f"cut off the wire, {setting.say(side.length)} on the {word} side")
    x, y = (box.length - along.length) / 2, (box.width - across.length) / 2
    part = Part(
        "mesh",
        mesh_material(board.mesh, setting.unit),
        along.length,
        across.length,
        kind.wire * 2,
        cuts=_passages(setting, x, y),
        notes=tuple(notes),
    )
    staples = _staples(setting, along.length + across.length)
    return Assembly(
        "wire bottom",
        f"Wire bottom for {setting.fits}",
        (Placed(part, Pose((x, y, setting.mesh_low))),),
        fasteners=()
        if not staples
        else (Fastener(fact("wire_bottom.staple").value_in(setting.unit), staples, "mesh to rim"),),
        steps=_steps(setting, along, across),
        facts=(
            Spec("sheet", f"{_about(setting, along.length)} x {_about(setting, across.length)}"),
            Spec("cells", f"{along.cells} x {across.cells} of {kind.sold(setting.unit)}"),
            Spec("wires", f"{along.cells + 1} x {across.cells + 1}"),
            Spec(
                "landing",
                f"{_about(setting, along.landing)} at the ends, {_about(setting, across.landing)} at the sides",
            ),
            *(Spec(f"open cells in the {name}", str(count)) for name, count in open_cells(setting)),
        ),
    )


def _passages(setting: Setting, x: Length, y: Length) -> tuple[Cut, ...]:
    """Openings for bees in a fine mesh, inside the channel and the corner vents, where there is no sugar."""
    if setting.board.passages == "none":
        return ()
    inset, thick = setting.size("wire_bottom.passage_inset"), setting.mesh.wire * 2
    return tuple(
        Cut(
            "bee passage",
            Face.SHOW,
            Rectangle(void.x0 + inset - x, void.y0 + inset - y, void.x1 - inset - x, void.y1 - inset - y),
            thick,
        )
        for void in setting.voids
    )


def open_cells(setting: Setting) -> tuple[tuple[str, int], ...]:
    """The number of whole open cells in each void."""
    along, across = sheet(setting)
    pitch, wire = setting.mesh.pitch, setting.mesh.wire
    return tuple(
        (
            void.name,
            _cells_between(void.x0, void.x1, (setting.box.length - along.length) / 2, pitch, wire)
            * _cells_between(void.y0, void.y1, (setting.box.width - across.length) / 2, pitch, wire),
        )
        for void in setting.voids
    )


def _cells_between(low: Length, high: Length, start: Length, pitch: Length, wire: Length) -> int:
    """The number of openings between two lines. Each opening runs from the far side of one wire to the next wire."""
    first = -((start + wire - low) // pitch)
    last = (high - start - pitch) // pitch
    return max(0, last - max(first, 0) + 1)


def _staples(setting: Setting, half_way_round: Length) -> int:
    if setting.board.mounting == "saw groove":
        return 0
    spacing = setting.size("wire_bottom.staple_spacing")
    return -int(Fraction(-half_way_round.mm * 2 // spacing.mm))


def _about(setting: Setting, length: Length) -> str:
    """A size to the nearest 1/32 in, with the decimal if a tape cannot show it; in a metric design, to 0.1 mm."""
    if setting.unit == "mm":
        return setting.say(nearest(length, millimetre("0.1")))
    rounded = nearest(length, inch("1/32"))
    return rounded.text() if rounded == length else f"{rounded.text()} ({float(length.inches):.3f})"


def _steps(setting: Setting, along: SheetSide, across: SheetSide) -> tuple[str, ...]:
    mounting = setting.board.mounting
    cut = (
        f"Count {along.cells} cells by {across.cells}. Cut just outside the edge wires: {along.cells} cells have "
        f"{along.cells + 1} wires. Wear gloves, and file the ends."
        if along.on_wire and across.on_wire
        else f"Mark the mesh {setting.say(along.length)} by {setting.say(across.length)}, with wire ends of equal "
        "length on opposite sides, and snip to the line where no wire falls. Wear gloves, and file the ends."
    )
    if setting.board.passages != "none":
        cut += " Snip the bee passages out over the channel and the corner vents, and file their edges."
    if mounting == "saw groove":
        return (cut, "Slide the mesh into the grooves of three walls, then put on the fourth.", *_tried(setting))
    spacing, thick = setting.size("wire_bottom.staple_spacing"), setting.wording.roughly(setting.mesh.wire * 2)
    last = (
        f"Drive every crown home. The rim then sits on the mesh, {thick} off the box. Crowns that stand out raise it "
        f"to {setting.wording.roughly(fact('wire_bottom.lift').length)}."
        if mounting == "stapled under"
        else "Drive every crown home, so that nothing stands below the lower edge of the rim."
    )
    return (
        cut,
        f"Lay the rim upside down, center the mesh and pull it flat. Staple every {setting.say(spacing)}, "
        f"{_lines(setting, along, across)}, each staple over a wire that runs across the wood, but not over the "
        "entrance. Wear eye protection.",
        last,
        *_tried(setting),
    )


def _lines(setting: Setting, along: SheetSide, across: SheetSide) -> str:
    ends, sides = (_about(setting, staple_line(side, setting.mesh, setting.mark)) for side in (along, across))
    if ends == sides:
        return f"{ends} from the inner faces of the rim"
    return f"{ends} from the inner faces of the ends and {sides} from those of the sides"


def _tried(setting: Setting) -> tuple[str, ...]:
    """How to check, with the gauge, the height of the mesh above the lower edge of the rim."""
    low = setting.mesh_low
    if low <= ZERO:
        return ()
    return (
        "Turn the fondant board upside down and lay a straightedge across its lower edges. Try the bee-space gauge "
        f"between straightedge and mesh, in the middle and near each wall ({setting.say(low)}): "
        f"{gauge_test(low, setting.say, setting.unit)}.",
    )
