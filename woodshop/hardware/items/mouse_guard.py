"""The mouse guard and its checks, measured on the strip in front of the entrance."""

from collections.abc import Iterator
from itertools import pairwise, product
from typing import Annotated, Literal

from woodshop.errors import InputError, Problem
from woodshop.findings import Finding, Severity
from woodshop.hardware.board import PRACTICE, Gauge, MeshName, Setting
from woodshop.hardware.gauge_steps import closed_test
from woodshop.hardware.items.wire_bottom import sheet_side
from woodshop.hardware.registry import Param, item
from woodshop.hive.creatures import OpeningName
from woodshop.hive.stacking.place import Place, TierKind
from woodshop.hive.woodenware.bottom import bee_holes, guard_clear
from woodshop.reference.facts import fact
from woodshop.reference.materials import EXISTING, mesh, mesh_material, passages, sheet_material
from woodshop.shape.part import (
    Assembly,
    Cuboid,
    Cut,
    Face,
    Fastener,
    Fold,
    Part,
    Placed,
    Pose,
    Role,
    RoundOutline,
    Space,
    Spec,
)
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import Wording


def check_mouse_guard(setting: Setting, made: Assembly, address: str) -> Iterator[Finding]:
    """Checks what can pass through the guard, where sources disagree, and how much of the entrance stays open."""
    guard = next(p for p in made.placed if p.part.name in ("guard blank", "guard mesh"))
    entrance = next(space.box for space in made.spaces if space.name == OpeningName.ENTRANCE)
    wording, is_mesh = setting.wording, guard.part.material.mesh is not None
    found = _mesh_passes(guard, wording, address) if is_mesh else _holes(guard, entrance, wording, address)
    yield from found
    yield from _enough(wording, guard, entrance, address)
    yield from _covers(guard, entrance, wording, address)


def _holes(guard: Placed, entrance: Cuboid, wording: Wording, address: str) -> Iterator[Finding]:
    holes = bee_holes(guard)
    bore = holes[0].size(1)
    yield from _bore(bore, wording, address)
    yield from _blocked(holes, entrance, wording, address)
    yield from _webs(guard, holes, wording, address)


def _bore(bore: Length, wording: Wording, address: str) -> Iterator[Finding]:
    worker, skull = fact("opening.worker_easy"), fact("opening.mouse_skull")
    usual, sold, slot = fact("opening.mouse_hole"), fact("opening.mouse_hole.sold"), fact("opening.mouse_slot.contrary")
    given = f"bee holes of {bore.number('mm')} mm" + ("" if wording.is_metric else f" ({wording.length(bore)})")
    drill = wording.quoted(f"Drill {usual.value} or {sold.value} holes.")
    if bore < worker.length:
        yield Finding(
            "guard-stops-bees", Severity.ERROR, address, given,
            f"at least {worker.worded(wording)}, for a worker bee", worker.cite,
            f"Worker bees cannot get through. {drill}",
        )  # fmt: skip
    if bore > sold.length:
        yield Finding(
            "guard-lets-mice-in",
            Severity.ERROR if bore >= skull.length else Severity.WARNING,
            address,
            given,
            wording.quoted(f"{usual.value} to {sold.value}; a mouse's skull is about {skull.value} wide"),
            f"{usual.cite}; {skull.cite}",
            f"A mouse ruins comb all winter. {drill}",
        )
    elif bore >= slot.length:
        yield Finding(
            "mouse-sources-disagree", Severity.NOTE, address, given,
            f"{usual.worded(wording)} holes are sold as mouse-proof, but another source says that mice get "
            f"through {slot.worded(wording)}",
            f"{usual.cite}; {slot.cite}",
            "Look for droppings on the first warm day. All sources agree that mice cannot get through "
            f"{mesh('1/4 in').sold(wording.of_texts)} mesh.",
        )  # fmt: skip


def _blocked(holes: list[Cuboid], entrance: Cuboid, wording: Wording, address: str) -> Iterator[Finding]:
    """Finds rows of holes that the wall above or the floor below covers so much that a worker cannot pass."""
    worker = fact("opening.worker_easy")
    rows = sorted({(hole.low[2], hole.high[2]) for hole in holes})
    least = min(min(high, entrance.high[2]) - max(low, entrance.low[2]) for low, high in rows)
    if least >= min(worker.length, holes[0].size(2)):
        return
    yield Finding(
        "guard-holes-blocked",
        Severity.WARNING,
        address,
        f"only {wording.length(max(least, ZERO))} of a row of holes opens into the entrance",
        f"at least {worker.worded(wording)} of every hole, for a worker bee",
        worker.cite,
        "Worker bees cannot get through these holes. Use fewer rows, or a mesh guard for such a low entrance.",
    )


def _webs(guard: Placed, holes: list[Cuboid], wording: Wording, address: str) -> Iterator[Finding]:
    """Checks how much steel is left between neighboring holes, and between the lowest row and the fold at z = 0."""
    row = fact("guard.web_least")
    least = row.length_in(wording.unit)
    webs = [min(hole.low[2] for hole in holes)]
    for axis in (1, 2):
        edges = sorted({(hole.low[axis], hole.high[axis]) for hole in holes})
        webs += [b[0] - a[1] for a, b in pairwise(edges)]
    if min(webs) >= least:
        return
    yield Finding(
        "guard-web-thin",
        Severity.ERROR if min(webs) <= ZERO else Severity.WARNING,
        address,
        f"{wording.length(min(webs))} of steel between two holes, or between a hole and the fold"
        if min(webs) >= ZERO
        else f"a hole reaches {wording.length(-min(webs))} into the next one, or into the fold",
        f"at least {wording.length(least)} of steel",
        row.cite,
        "The steel tears when it is drilled. Use a wider pitch or smaller holes.",
    )


def _mesh_passes(guard: Placed, wording: Wording, address: str) -> Iterator[Finding]:
    """Reports what each source says about this mesh: bees it stops, mice that pass, and disagreements."""
    kind = guard.part.material.mesh
    said = () if kind is None else passages(kind.name)
    name = "" if kind is None else kind.sold(wording.of_texts)
    held = [each.row for each in said if each.who == "worker" and not each.passes]
    wide, fine = (mesh(each).sold(wording.of_texts) for each in ("1/2 in", "1/4 in"))
    if held:
        yield Finding(
            "guard-stops-bees", Severity.ERROR, address, wording.quoted(f"{name} mesh: {held[0].what}"),
            "a mesh that worker bees can get through", held[0].cite,
            f'The guard closes the hive to bees. Set guard_mesh to "{wide}" or "{fine}".',
        )  # fmt: skip
    mice = {each.passes: each.row for each in said if each.who == "mouse"}
    if True in mice:
        other = mice.get(False)
        yield Finding(
            "mouse-sources-disagree" if other else "guard-lets-mice-in",
            Severity.NOTE if other else Severity.ERROR,
            address,
            wording.quoted(f"a mouse guard of {name} mesh"),
            wording.quoted((f"{other.what} Another view: " if other else "a mesh that stops mice: ") + mice[True].what),
            "; ".join(row.cite for row in (other, mice[True]) if row),
            f"A mouse ruins comb all winter. Use {fine} mesh, or steel with 9 mm holes.",
        )
    dead = [each.row for each in said if each.who == "dead bee" and not each.passes]
    if dead:
        yield Finding(
            "guard-holds-dead-bees", Severity.NOTE, address, wording.quoted(f"{name} mesh: {dead[0].what}"),
            "a clear entrance", dead[0].cite, "Dead bees block the entrance. Rake them out weekly in winter.",
        )  # fmt: skip


def _enough(wording: Wording, guard: Placed, entrance: Cuboid, address: str) -> Iterator[Finding]:
    """Checks that the open area is at least as large as the entrance in an old plan."""
    high, long = fact("opening.entrance_height"), fact("opening.entrance_length")
    wanted = high.length * long.length
    clear = guard_clear(guard, entrance)
    if clear >= wanted:
        return
    yield Finding(
        "guard-chokes-entrance",
        Severity.WARNING,
        address,
        f"{wording.area(clear)} of the entrance left open",
        f"at least {wording.area(wanted)}, as in an entrance {wording.quoted(f'{high.value} x {long.value}')}",
        high.cite,
        "Too few bees and too little air get through. Drill more holes or a second row, or use a wider entrance.",
    )


def _covers(guard: Placed, entrance: Cuboid, wording: Wording, address: str) -> Iterator[Finding]:
    """Checks that there is no gap around the ends or over the top."""
    past = min(entrance.low[1] - guard.box.low[1], guard.box.high[1] - entrance.high[1])
    over = guard.box.high[2] - entrance.high[2]
    if min(past, over) > ZERO:
        return
    ends = f"reaches {wording.length(past)} past the ends of the entrance"
    if past < ZERO:
        ends = f"stops {wording.length(-past)} short of the ends of the entrance"
    top = (
        f"reaches {wording.length(over)} over its top"
        if over >= ZERO
        else f"stops {wording.length(-over)} below its top"
    )
    yield Finding(
        "guard-leaves-a-way-round", Severity.ERROR, address,
        f"the guard {ends} and {top}",
        "a guard that covers the entrance all around", "geometry",
        "Mice can get around the guard. Increase the guard's overlap and lap.",
    )  # fmt: skip


_FOLDED = "fold up 90°, toward you"


PLACE = Place(kind=TierKind.ENTRANCE, name="mouse guard")


@item("mouse guard", title="Mouse guard", check=check_mouse_guard, place=PLACE)
def mouse_guard(
    setting: Setting,
    *,
    kind: Annotated[
        Literal["steel", "mesh"], Param("sheet steel with holes, or mesh from the floors' offcuts", source=PRACTICE)
    ] = "steel",
    entrance_width: Annotated[
        Length | None, Param("width of the entrance", None, "1", "24", source="the inside width of the box")
    ] = None,
    entrance_height: Annotated[Length, Param("height of the entrance", "guard.entrance_height", "1/4", "2")],
    overlap: Annotated[Length, Param("guard past the entrance, each end", "guard.overlap", "1/4", "2")],
    lap: Annotated[Length, Param("guard up over the front of the box", "guard.lap", "1/2", "3")],
    foot: Annotated[Length, Param("foot folded out along the lower edge", "guard.foot", "1/4", "2")],
    bore: Annotated[
        Length, Param("diameter of a bee hole", "opening.mouse_hole", "3/16", "1/2", only=("kind", "steel"))
    ],
    pitch: Annotated[
        Length, Param("from one bee hole's middle to the next", "guard.pitch", "1/4", "2", only=("kind", "steel"))
    ],
    rows: Annotated[
        int | None,
        Param(
            "rows of bee holes",
            None,
            "1",
            "4",
            source="as many as fit the height of the entrance",
            only=("kind", "steel"),
        ),
    ] = None,
    gauge: Annotated[Gauge, Param("gauge or thickness of the galvanized sheet", "guard.gauge", only=("kind", "steel"))],
    guard_mesh: Annotated[
        MeshName | None,
        Param("mesh of the guard", None, None, None, source="as the wire bottom", only=("kind", "mesh")),
    ] = None,
) -> Assembly:
    """A strip of steel with bee holes, or of mesh, for the entrance: flat, before its foot is folded out.

    +---------------------------------+
    | o              o              o |  fixing holes, on the front of the box
    |---------------------------------|  upper edge of the entrance
    |  O  O  O  O  O  O  O  O  O  O   |  bee holes
    |- - - - - - - - - - - - - - - - -|  fold
    +---------------------------------+  foot
    """
    box, area = setting.box, setting.wording.area
    wide = entrance_width if entrance_width is not None else box.inside_width
    if wide > box.width:
        raise InputError(
            Problem(
                f"mouse guard for {box.name}, entrance_width",
                setting.say(wide),
                f"at most the box, {setting.say(box.width)}",
                "Measure it.",
            )
        )
    if kind == "steel":
        blank, fold, notes, fixings = _steel(
            setting,
            wide,
            entrance_height,
            overlap=overlap,
            lap=lap,
            foot=foot,
            bore=bore,
            pitch=pitch,
            rows=rows,
            gauge=gauge,
        )
    else:
        name = guard_mesh if guard_mesh is not None else setting.board.mesh
        blank, fold, notes, fixings = _mesh(
            setting, wide, entrance_height, overlap=overlap, lap=lap, foot=foot, name=name
        )
    middle = box.width / 2
    y = middle + blank.length / 2
    guard = Placed(blank, Pose((ZERO, y, ZERO - fold), "-y", "+z", "-x"))
    entrance = Cuboid((ZERO - blank.thickness, middle - wide / 2, ZERO), (ZERO, middle + wide / 2, entrance_height))
    front = Part("box front", EXISTING, box.width, box.height, box.wall)
    wall = Placed(front, Pose((box.wall, box.width, entrance_height), "-y", "+z", "-x"), Role.EXISTING)
    clear, whole = guard_clear(guard, entrance), wide * entrance_height
    say, share = setting.say, float(clear.mm2 / whole.mm2)
    return Assembly(
        "mouse guard",
        f"Mouse guard for {box.name}",
        (guard, wall),
        spaces=(Space(OpeningName.ENTRANCE, entrance, "the bees' entrance, behind the guard"),),
        fasteners=(Fastener(fact("guard.pin").value, fixings, "guard to the front of the box"),),
        steps=_steps(setting, kind, fold, bore, fixings),
        facts=(
            Spec("blank", f"{say(blank.length)} x {say(blank.width)}"),
            Spec("fold", f"{say(fold)} from the lower edge"),
            *(Spec("bees' way", note) for note in notes),
            Spec("clear of the open entrance", f"{area(clear)} of {area(whole)}, {share:.0%}"),
        ),
    )


def _steel(
    setting: Setting,
    wide: Length,
    high: Length,
    *,
    overlap: Length,
    lap: Length,
    foot: Length,
    bore: Length,
    pitch: Length,
    rows: int | None,
    gauge: str,
) -> tuple[Part, Length, tuple[str, ...], int]:
    """The blank with its holes and its fold, notes about the holes, and the fixings."""
    mark, web = setting.mark, setting.size("guard.web_least")
    material = sheet_material("steel", gauge, setting.unit)
    thick = material.thickness or ZERO
    long = min((wide + overlap * 2).up_to(mark), setting.box.width.down_to(mark))  # the box's front is no wider
    across = (foot + high + lap).up_to(mark)
    first = (foot + web + bore / 2).up_to(mark)
    count = rows if rows is not None else max(1, 1 + (foot + high - first - bore / 2) // pitch)
    each = max(1, 1 + (wide - bore) // pitch)
    holes = [
        Cut(OpeningName.BEE_HOLE, Face.SHOW, RoundOutline(u, first + pitch * n, bore), thick)
        for n, u in product(range(count), _spread(long / 2, pitch, each))
    ]
    edge, drill = setting.size("guard.fixing_edge"), setting.size("guard.fixing_hole")
    spans = max(1, -int(-(long - edge * 2).mm // setting.size("guard.fixing_spacing").mm))
    fixings = [
        Cut("fixing hole", Face.SHOW, RoundOutline(u, across - edge, drill), thick)
        for u in _spread(long / 2, ((long - edge * 2) / spans).down_to(mark), spans + 1)
    ]
    blank = Part(
        "guard blank",
        material,
        long,
        across,
        thick,
        cuts=(*holes, *fixings),
        notes=("deburr both faces and all edges",),
        folds=(Fold(foot, _FOLDED),),
    )
    rows_of = f"{count} row{'s' if count > 1 else ''} of {each} holes"
    row_text = f"{rows_of}, {bore.number('mm')} mm dia., {setting.say(pitch)} apart"
    return blank, foot, (row_text,), len(fixings)


def _spread(middle: Length, apart: Length, count: int) -> list[Length]:
    """`count` positions, evenly spaced around the middle."""
    return [middle + apart * (2 * n - count + 1) / 2 for n in range(count)]


def _mesh(
    setting: Setting, wide: Length, high: Length, *, overlap: Length, lap: Length, foot: Length, name: str
) -> tuple[Part, Length, tuple[str, ...], int]:
    """A strip of whole cells, folded along a wire, with notes and fixings."""
    kind = mesh(name)
    along = sheet_side(
        wide, wide + overlap * 4 + kind.pitch * 2, overlap, pitch=kind.pitch, wire=kind.wire, mark=setting.mark
    )
    below = -int(-foot.mm // kind.pitch.mm)
    above = -int(-(high + lap - kind.wire / 2).mm // kind.pitch.mm)
    across = kind.pitch * (below + above) + kind.wire
    notes = (
        f"{along.cells} x {below + above} cells, {along.cells + 1} x {below + above + 1} wires",
        f"fold along wire {below + 1} from the lower edge",
    )
    fold = kind.pitch * below + kind.wire / 2
    part = Part(
        "guard mesh",
        mesh_material(name, setting.unit),
        along.length,
        across,
        kind.wire * 2,
        notes=notes,
        folds=(Fold(fold, _FOLDED),),
    )
    spans = max(1, -int(-along.length.mm // setting.size("guard.fixing_spacing").mm))
    words = f"mesh {kind.sold(setting.unit)}, openings of {setting.say(kind.clear_opening)}"
    return part, fold, (words,), spans + 1


def _steps(setting: Setting, kind: str, fold: Length, bore: Length, fixings: int) -> tuple[str, ...]:
    bend = (
        f"Clamp the blank along the fold, {setting.say(fold)} from the lower edge, between two straight boards. Fold "
        "the foot outward over the edge, square. In sheet this thin, the bend takes up no length you can measure."
        if kind == "steel"
        else f"Fold the foot outward along the wire {setting.say(fold)} from the lower edge, over the edge of a board."
    )
    cut = (
        (
            "Shear or snip the blanks to size. Wear gloves and eye protection, because fresh edges cut.",
            f"Clamp a stack of blanks flat between two pieces of scrap, and drill the {bore.number('mm')} mm bee "
            "holes. A step bit leaves the cleanest hole. Then drill the fixing holes.",
            "Deburr: file every edge, and both faces of every hole, until a rag drawn over them does not catch.",
        )
        if kind == "steel"
        else (
            "Snip the strip from offcuts of the floors, beside the wires. Wear gloves and eye protection. File stubs.",
        )
    )
    return (
        *cut,
        bend,
        "In fall, before mice move in, check that no mouse is inside. Set the foot on the landing board against the "
        f"box and pin the upper edge with {fixings} pins.",
        f"Look under the foot and past both ends: {closed_test(setting.unit)}.",
        "Check it weekly in winter, and rake out dead bees behind it. Remove it when pollen comes in.",
    )
