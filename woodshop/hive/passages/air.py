"""Finds the air path from the entrance to the slit under the cover: the clear area at each step, and dead ends."""

from collections.abc import Iterable, Sequence
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction

from woodshop.hive.creatures import OpeningName, PartName, breathing
from woodshop.hive.passages.doors import Door, doors_of, over_sugar, within_walls
from woodshop.hive.passages.inside import Inside, around, ceiling_over, voids_of
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack, Tier
from woodshop.hive.woodenware.bottom import guard_clear
from woodshop.reference.materials import Material
from woodshop.shape.part import Cuboid, Placed, Rectangle
from woodshop.shape.plane import open_area
from woodshop.shape.rooms import Walk, walk
from woodshop.shape.scene import scene
from woodshop.units.lengths import ZERO, Area, Length, inch

X, Y, Z = 0, 1, 2
NOTHING = Area(Fraction(0))
THIN = inch("1/64")  # the side of the cube that stands for air: air does not pass through narrower openings
COMMON = ""


@dataclass(frozen=True, slots=True)
class AirStep:
    """A step of the air path: its name, where it was measured, its clear area, and the parts around it.

    `share` is the open fraction of the mesh at the step, or 1 if there is no mesh. `route` is "" for a step that all
    air passes through. After the space over the sugar, there can be more than one route, each with a name.
    """

    name: str
    where: str
    clear: Area
    _: KW_ONLY
    limited_by: str
    share: Fraction = Fraction(1)
    route: str = COMMON


def open_share(material: Material) -> Fraction:
    """The fraction of a material that is open to air: the cells of mesh, 1 for cloth and shavings, 0 for others.

    >>> from woodshop.reference.materials import CLOTH, EXISTING, mesh_material
    >>> float(round(open_share(mesh_material("1/8 in")), 3)), open_share(CLOTH), open_share(EXISTING)
    (0.746, Fraction(1, 1), Fraction(0, 1))
    """
    if (kind := material.mesh) is not None:
        return (1 - kind.wire / kind.pitch) ** 2
    return Fraction(material.kind.breathes)


def _rectangle(box: Cuboid, axis: int) -> Rectangle:
    u, v = (i for i in range(3) if i != axis)
    return Rectangle(box.low[u], box.low[v], box.high[u], box.high[v])


def _free(inside: Inside, things: Iterable[Placed], axis: int, at: Length, window: Cuboid) -> Area:
    """The free area of a window in the plane at `at`. Only parts that the plane meets in the window are considered."""
    parts = [each for each in things if _meets(each.box, axis, at, window)]
    rectangle = _rectangle(window, axis)
    if not parts:
        return (rectangle.u1 - rectangle.u0) * (rectangle.v1 - rectangle.v0)
    return open_area(inside.some(parts), axis, at, rectangle)


def _meets(box: Cuboid, axis: int, at: Length, window: Cuboid) -> bool:
    """Whether the plane at `at` cuts a block inside a window."""
    others = (i for i in range(3) if i != axis)
    return box.low[axis] <= at < box.high[axis] and all(
        box.low[i] < window.high[i] and window.low[i] < box.high[i] for i in others
    )


def _through(
    inside: Inside, things: Sequence[Placed], sheet: Placed, window: Cuboid, axis: int = Z
) -> tuple[Area, Area, Fraction]:
    """The clear area of a window with a sheet in it, the area that the sheet leaves free, and its open fraction.

    Parts that touch the sheet on either side reduce the clear area.
    """
    box, middle = sheet.box, (sheet.box.low[axis] + sheet.box.high[axis]) / 2
    against = []
    for each in things:
        if each is sheet or each.part.material.kind.breathes:
            continue
        by, its = ZERO, each.box
        if its.low[axis] == box.high[axis]:
            by = ZERO - box.size(axis)
        elif its.high[axis] == box.low[axis]:
            by = box.size(axis)
        elif not its.low[axis] <= middle < its.high[axis]:
            continue
        against.append(each.moved((ZERO, ZERO, by) if axis == Z else (by, ZERO, ZERO)) if by else each)
    share = open_share(sheet.part.material)
    cut = _free(inside, [*against, sheet], axis, middle, window)
    bare = _free(inside, against, axis, middle, window) if share else cut
    return cut + (bare - cut) * share, cut, share


def entrance_steps(inside: Inside, doors: tuple[Door, ...]) -> list[AirStep]:
    """The steps through the entrance: halfway through the front and, if there is a guard, through its openings."""
    found = []
    for door in (each for each in doors if each.name == OpeningName.ENTRANCE):
        (box, _, _) = door.boxes[0]
        at = (box.low[X] + box.high[X]) / 2
        clear = _free(inside, (p for tier in inside.stack.of(TierKind.BOTTOM) for p in tier.placed), X, at, box)
        found.append(AirStep(OpeningName.ENTRANCE, door.tier, clear, limited_by="floor and front of the box"))
        for tier in inside.stack.of(TierKind.ENTRANCE):
            for sheet in tier.placed:
                if sheet.box.size(X) < min(sheet.box.size(Y), sheet.box.size(Z)):
                    share = open_share(sheet.part.material) or Fraction(1)
                    foot = max((p.part.width for p in tier.named("guard foot")), default=ZERO)
                    clear = guard_clear(sheet, box, foot)
                    found.append(
                        AirStep("guard at the entrance", tier.name, clear, limited_by=sheet.part.name, share=share)
                    )
    return found


def frame_steps(inside: Inside) -> list[AirStep]:
    """For every box, the smallest of the steps between bottom bars, between combs and between top bars."""
    found = []
    for tier in inside.stack.of(TierKind.BOX):
        walls = [placed.box for placed in tier.named("box side", "box end")]
        whole = around(walls)
        ends = sorted((box for box in walls if box.size(X) < box.size(Y)), key=lambda box: box.low[X])
        sides = sorted((box for box in walls if box.size(Y) < box.size(X)), key=lambda box: box.low[Y])
        window = Cuboid(
            (ends[0].high[X], sides[0].high[Y], whole.low[Z]), (ends[-1].low[X], sides[-1].low[Y], whole.high[Z])
        )
        planes = []
        for name in ("bottom bar", "comb", PartName.TOP_BAR):
            for placed in tier.named(name)[:1]:
                # a height below the lugs, where end bars are next to the bar
                at = placed.box.low[Z] + placed.box.size(Z) / 4
                planes.append((_free(inside, tier.placed, Z, at, window), name))
        if planes:
            clear, name = min(planes, key=lambda each: each[0].mm2)
            found.append(AirStep("between the frames", tier.name, clear, limited_by=f"{name}s"))
    return found


def void_steps(inside: Inside) -> list[AirStep]:
    """The steps through the mesh of the board, in places without sugar."""
    found = []
    for tier in inside.stack.of(TierKind.BOARD):
        room = within_walls(inside, tier, tier.placed[0].box.low[Z])
        parts = [p for t in inside.stack.of(TierKind.ON_BARS, TierKind.BOARD, TierKind.BOX) for p in t.placed]
        for sheet in tier.named("mesh"):
            clear, cut, share = _through(inside, parts, sheet, room)
            what = "packed sugar and mesh" if not cut.mm2 else "packed sugar, and mesh beside the bees' passages"
            found.append(
                AirStep("channel and corner vents", f"mesh of the {tier.name}", clear, limited_by=what, share=share)
            )
    return found


def sugar_steps(inside: Inside) -> list[AirStep]:
    """The steps across the hive over the sugar. If the sugar touches the part above, air can only go straight up."""
    found = []
    for tier in inside.stack.of(TierKind.BOARD, TierKind.SHIM):
        clear, what = NOTHING, "sugar and what is over it"
        for _, box in over_sugar(inside.stack, tier):
            at = (box.low[X] + box.high[X]) / 2
            clear = clear + _free(inside, inside.stack.placed, X, at, box)
        if not clear.mm2:
            above = ceiling_over(inside.stack, tier)
            clear = sum((step.clear for step in _ceiling(inside, above)), start=NOTHING) if above else NOTHING
            what = "no room over the sugar: straight up, where none lies"
        found.append(AirStep("over the sugar", tier.name, clear, limited_by=what))
    return found


def ceiling_steps(inside: Inside, doors: tuple[Door, ...]) -> list[AirStep]:
    """The steps through each floor, panel or feeder over the frames, from bottom to top.

    Vent holes add a second route.
    """
    found, route = list[AirStep](), COMMON
    for tier in inside.stack.tiers:
        found += [replace(step, route=route) for step in _ceiling(inside, tier)]
        if any(door.name == OpeningName.VENT_HOLE and _belongs(door, tier) for door in doors):
            route = "under the cover"
    return found


def _belongs(door: Door, tier: Tier) -> bool:
    return door.tier.partition(",")[0] == tier.name


def _ceiling(inside: Inside, tier: Tier) -> list[AirStep]:
    found = []
    for sheet in tier.ceiling if tier.kind is not TierKind.COVER else ():
        name = f"through the {tier.name}"
        if tier.kind is TierKind.FEEDER:
            found.append(AirStep(name, tier.name, _feeder(inside, sheet), limited_by="the bees' passage"))
            continue
        room = within_walls(inside, tier, sheet.box.low[Z]) if tier.kind is TierKind.TOP_BOX else sheet.box
        clear, _, share = _through(inside, inside.stack.placed, sheet, room)
        what = sheet.part.name if share else f"hole in the {sheet.part.name}"
        found.append(AirStep(name, sheet.part.name, clear, limited_by=what, share=share or Fraction(1)))
    return found


def _feeder(inside: Inside, feeder: Placed) -> Area:
    """The openings through a feeder, minus the parts against its underside."""
    low = feeder.box.low[Z]
    under = [
        placed.moved((ZERO, ZERO, THIN))
        for placed in inside.stack.placed
        if placed.box.high[Z] == low and not placed.part.material.kind.breathes
    ]
    return _free(inside, [feeder, *under], Z, low, feeder.box)


def steps_out(inside: Inside, doors: tuple[Door, ...]) -> list[AirStep]:
    """The steps above the highest floor: through a quilt box's holes, and out under the cover and around its skirt."""
    found = []
    holes = [door for door in doors if door.name == OpeningName.VENT_HOLE]
    if holes:
        parts = [_door_step(inside, door, door.boxes[0][0]) for door in holes]
        total = sum((step.clear for step in parts), start=NOTHING)
        found.append(
            AirStep(
                "vent holes",
                holes[0].tier.partition(",")[0],
                total,
                limited_by=parts[0].limited_by,
                share=parts[0].share,
                route="vent holes",
            )
        )
    for tier in inside.stack.of(TierKind.COVER):
        slits = [box for door in doors if door.name == OpeningName.SLIT for box, _, _ in door.boxes]
        clear = _slit(inside, slits) if slits else NOTHING
        found.append(
            AirStep(OpeningName.SLIT, tier.name, clear, limited_by="walls and cover top", route="under the cover")
        )
        skirts = tier.named("skirt side", "skirt end")
        if skirts:
            found.append(_skirt(inside, skirts))
    return found


def _slit(inside: Inside, boxes: Sequence[Cuboid]) -> Area:
    return slit_clear(
        [placed for tier in inside.stack.of(TierKind.UNDER_COVER) for placed in tier.placed], around(boxes)
    )


def slit_clear(spacers: Sequence[Placed], slit: Cuboid) -> Area:
    """The free area of a slit, measured at the outer faces of the walls below, without the area of the spacers in it.

    `slit` is the block from the upper edges of these walls to the part above, out to the outer faces of the walls.
    """
    total = NOTHING
    for axis in (X, Y):
        rectangle = _rectangle(slit, axis)
        whole = (rectangle.u1 - rectangle.u0) * (rectangle.v1 - rectangle.v0)
        for at in (slit.low[axis], slit.high[axis] - THIN):
            parts = [placed for placed in spacers if _meets(placed.box, axis, at, slit)]
            total = total + (open_area(scene(parts), axis, at, rectangle) if parts else whole)
    return total


def _skirt(inside: Inside, skirts: tuple[Placed, ...]) -> AirStep:
    """The area between the skirt and the widest walls inside it, seen from above."""
    ends = [placed.box for placed in skirts if placed.box.size(X) < placed.box.size(Y)]
    sides = [placed.box for placed in skirts if placed.box.size(Y) < placed.box.size(X)]
    low, high = ends[0].low[Z], ends[0].high[Z]
    inner = Cuboid(
        (min(box.high[X] for box in ends), min(box.high[Y] for box in sides), low),
        (max(box.low[X] for box in ends), max(box.low[Y] for box in sides), high),
    )
    room = inner.size(X) * inner.size(Y)
    found = [
        (room - shared.size(X) * shared.size(Y), outline.tier)
        for outline in inside.outlines
        if (shared := outline.box.meet(inner)) is not None
    ]
    clear, tier = min(found, key=lambda each: each[0].mm2, default=(room, "cover"))
    return AirStep("between skirt and walls", "cover", clear, limited_by=f"skirt and {tier}", route="under the cover")


def steps_beside(inside: Inside, doors: tuple[Door, ...]) -> tuple[AirStep, ...]:
    """The steps through upper entrances, and through the parts of vent holes that no skirt covers."""
    found = [_door_step(inside, door, door.boxes[0][0]) for door in doors if door.name == OpeningName.UPPER_ENTRANCE]
    lows = [p.box.low[Z] for tier in inside.stack.of(TierKind.COVER) for p in tier.named("skirt side", "skirt end")]
    for door in (door for door in doors if door.name == OpeningName.VENT_HOLE and lows):
        box, low = door.boxes[0][0], min(lows)
        if low < box.high[Z]:
            clear = NOTHING
            if low > box.low[Z]:
                clear = _door_step(inside, door, Cuboid(box.low, (box.high[X], box.high[Y], low))).clear
            found.append(
                AirStep("vent hole below the skirt", door.tier, clear, limited_by="the cover's skirt before it")
            )
    return tuple(found)


def _door_step(inside: Inside, door: Door, window: Cuboid) -> AirStep:
    """The clear area of a cut through a wall, within a window of the wall, reduced by the screens over it."""
    _, axis, _ = door.boxes[0]
    walls = [p for tier in inside.stack.tiers if _belongs(door, tier) for p in tier.placed]
    at = (window.low[axis] + window.high[axis]) / 2
    clear, share = _free(inside, (p for p in walls if p not in door.screens), axis, at, window), Fraction(1)
    for screen in door.screens:
        share = open_share(screen.part.material)
        clear = clear * share
    what = f"{door.screens[0].part.name} over it" if door.screens else "its outline"
    return AirStep(door.name, door.tier, clear, limited_by=what, share=share)


X, Y, Z = 0, 1, 2


@dataclass(frozen=True, slots=True)
class DeadEnd:
    """A dead end of the air path: the blocked step, and the two parts between which air is blocked."""

    step: str
    between: tuple[str, str]


@dataclass(frozen=True, slots=True)
class AirPath:
    """The steps in order, the smallest step, and the dead ends.

    If there are several routes, only the widest counts for `smallest`. `beside` lists ways out before the end of the
    path, such as the upper entrance.
    """

    steps: tuple[AirStep, ...]
    smallest: AirStep
    dead_ends: tuple[DeadEnd, ...]
    beside: tuple[AirStep, ...] = ()


def air_path(stack: Stack, inside: Inside | None = None) -> AirPath:
    """The air path of a hive. `inside` is the `Inside` of the same hive, if it exists already."""
    within = inside or Inside(stack)
    doors = doors_of(within)
    steps = [*entrance_steps(within, doors), *frame_steps(within), *void_steps(within), *sugar_steps(within)]
    steps += [*ceiling_steps(within, doors), *steps_out(within, doors)]
    return AirPath(tuple(steps), _smallest(steps), _dead_ends(within, doors), steps_beside(within, doors))


def _smallest(steps: Sequence[AirStep]) -> AirStep:
    """The smallest of all steps that all air passes through and of the steps on the widest route."""
    routes = dict.fromkeys(step.route for step in steps if step.route)
    leasts = [min((s for s in steps if s.route == route), key=_size) for route in routes]
    common = [step for step in steps if not step.route]
    return min([*common, *([max(leasts, key=_size)] if leasts else [])], key=_size)


def _size(step: AirStep) -> Fraction:
    return step.clear.mm2


@dataclass(frozen=True, slots=True)
class _Stage:
    """A stage of the air path: its places, at least one of which air must reach, and the parts below and above it."""

    step: str
    between: tuple[str, str]
    boxes: tuple[Cuboid, ...]


def _dead_ends(inside: Inside, doors: tuple[Door, ...]) -> tuple[DeadEnd, ...]:
    """The dead ends. Air is modeled as a tiny cube that can pass through mesh, cloth and shavings.

    The voids are checked first, then the stages.
    """
    stack, walls = inside.stack, inside.walls
    combs = around(placed.box for placed in stack.top_box.named("comb"))
    low = (combs.low[Z] + combs.high[Z]) / 2
    parts = (placed for placed in breathing(stack.placed) if placed.box.high[Z] > low)
    filled = [thing for thing in inside.scene.things if isinstance(thing, Cuboid)]
    seen = inside.some([*parts, *filled])
    walked = walk(Walk(seen, Cuboid((walls.low[X], walls.low[Y], low), walls.high), THIN, False, ()))
    start = frozenset(room for lane in inside.top_lanes for room in walked.rooms_in(lane))
    stages = _stages(inside, doors)
    found = [
        DeadEnd(name, ("mesh", PartName.SUGAR)) for name, void in voids_of(stack) if not start & walked.rooms_in(void)
    ]
    for stage in stages:
        if not any(start & walked.rooms_in(box) for box in stage.boxes):
            return (*found, DeadEnd(stage.step, stage.between))
    return tuple(found)


def _stages(inside: Inside, doors: tuple[Door, ...]) -> list[_Stage]:
    """The spaces that air must reach, one after another."""
    stack, found = inside.stack, list[_Stage]()
    below: str = PartName.TOP_BAR
    for tier in stack.of(TierKind.BOARD):
        if tier.named(PartName.SUGAR):
            voids = tuple(box for _, box in voids_of(stack))
            found.append(_Stage("channel and corner vents", ("mesh", PartName.SUGAR), voids))
            below = PartName.SUGAR
    for tier in stack.tiers:
        sheets = tier.ceiling
        if sheets and tier.kind is not TierKind.COVER:
            name = sheets[0].part.name
            found.append(_Stage(f"through the {tier.name}", (below, name), _over(inside, tier, sheets)))
            below = name
    if stack.of(TierKind.COVER):
        outs = tuple(box for door in doors if door.name in _OUT for box, _, _ in door.boxes)
        found.append(_Stage("out of the hive", (below, PartName.COVER_TOP), outs))
    return found


_OUT = (OpeningName.VENT_HOLE, OpeningName.SLIT)


def _over(inside: Inside, tier: Tier, sheets: tuple[Placed, ...]) -> tuple[Cuboid, ...]:
    """The space over a floor, panel or feeder or, if there is no space over it, the openings through it."""
    if tier.kind is TierKind.TOP_BOX:
        return (within_walls(inside, tier, sheets[0].box.high[Z]),)
    whole, top = inside.walls, sheets[0].box.high[Z]
    end = next((each.box.high[Z] for each in inside.outlines if each.tier == tier.name), top)
    if top < end:
        return (Cuboid((whole.low[X], whole.low[Y], top), (whole.high[X], whole.high[Y], end)),)
    return tuple(
        hollow
        for sheet in sheets
        for hollow in sheet.hollows
        if hollow.high[Z] == top and hollow.low[Z] == sheet.box.low[Z]
    )
