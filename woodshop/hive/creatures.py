"""Lists the creatures in a hive, the openings that each can pass through, and the parts that it cannot pass."""

from collections.abc import Iterable
from dataclasses import KW_ONLY, dataclass, replace
from enum import StrEnum
from fractions import Fraction
from functools import cache

from woodshop.reference.facts import Fact, fact
from woodshop.reference.materials import Mesh, mesh, mesh_names, passages
from woodshop.shape.part import Cuboid, Placed, Role, RoundOutline, Space, gap
from woodshop.units.lengths import ZERO, Length, decimals, inch, millimetre, unit_of_lengths
from woodshop.units.wording import LengthUnit

CREATURES = ("worker", "drone", "queen", "mouse")
ENDLESS = inch(1200)  # the length of a gap that stops a creature, if the source gives only the gap's height
FREE = inch(1)  # its length if it lets a creature pass: the ends then do not matter; common practice, no source


class OpeningName(StrEnum):
    """Openings that checks and measurements look for. The names are those of cuts and declared spaces."""

    ENTRANCE = "entrance"
    UPPER_ENTRANCE = "upper entrance"
    VENT_HOLE = "vent hole"
    BEE_HOLE = "bee hole"
    SLIT = "slit under the cover"


class PartName(StrEnum):
    """Parts of several items that checks and measurements look for."""

    TOP_BAR = "top bar"
    COVER_TOP = "cover top"
    SUGAR = "packed sugar"
    FOLLOWER = "follower board"


@dataclass(frozen=True, slots=True)
class Clear:
    """The clear size of an opening: its width and height. For a round hole, both are the diameter."""

    width: Length
    height: Length
    is_round: bool = False

    def goes_into(self, other: "Clear") -> bool:
        """Whether this rectangle fits in the other with parallel sides. The test is exact, and edges can touch."""
        mine, its = sorted((self.width, self.height)), sorted((other.width, other.height))
        if other.is_round and not self.is_round:
            return self.width.mm**2 + self.height.mm**2 <= other.width.mm**2
        return mine[0] <= its[0] and mine[1] <= its[1]


@dataclass(frozen=True, slots=True)
class Observation:
    """A source's statement that an opening lets the creature `who` pass, or that it stops the creature.

    `size` is the size of the opening, and `of` is its name. If `below` is true, the statement is only about openings
    smaller than `size`.
    """

    who: str
    passes: bool
    size: Clear
    _: KW_ONLY
    of: str
    row: Fact
    below: bool = False

    def bears_on(self, clear: Clear) -> bool:
        """Whether the statement also applies to an opening of this size."""
        if self.passes:
            return self.size.goes_into(clear)
        return clear.goes_into(self.size) and not (
            self.below and min(clear.width, clear.height) >= min(self.size.width, self.size.height)
        )


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a creature passes through an opening according to a source, with the source's opening and wording."""

    who: str
    passes: bool
    source: str
    of: str
    words: str


@dataclass(frozen=True, slots=True)
class Opening:
    """An opening: its name, part, clear size, kind and count, and each source's verdict for each creature.

    `kind` is "mesh", "hole" or "slot". The clear size of mesh is the size of one cell: pitch minus wire.
    """

    name: str
    place: str
    clear: Clear
    kind: str
    _: KW_ONLY
    count: int
    verdicts: tuple[Verdict, ...]

    def passes(self, who: str) -> bool | None:
        """Whether the creature can pass, if all sources agree.

        The result is None if the sources disagree, or if none mentions the creature.
        """
        said = {verdict.passes for verdict in self.verdicts if verdict.who == who}
        return said.pop() if len(said) == 1 else None

    def disagree_on(self) -> tuple[str, ...]:
        """The creatures that can pass according to one source and cannot according to another."""
        return tuple(
            who for who in CREATURES if len({verdict.passes for verdict in self.verdicts if verdict.who == who}) > 1
        )


def verdicts_on(clear: Clear) -> tuple[Verdict, ...]:
    """The verdict of each source on an opening of this clear size, in the order of the creatures, without duplicates.

    >>> half = mesh("1/2 in").clear_opening
    >>> [(each.of, each.passes) for each in verdicts_on(Clear(half, half)) if each.who == "mouse"]
    [('1/2 in mesh', False), ('1/2 in mesh', True), ('a gap of 8 mm', True)]
    """
    found = (
        Verdict(said.who, said.passes, said.row.cite, said.of, said.row.what)
        for who in CREATURES
        for said in observations()
        if said.who == who and said.bears_on(clear)
    )
    return tuple(dict.fromkeys(found))


@cache
def observations() -> tuple[Observation, ...]:
    """All facts about which creatures pass through which openings: meshes, gaps of excluders, slots, holes."""
    row = {name: fact(f"opening.{name}") for name in _SAID}
    cells = [
        Observation(said.who, said.passes, _cell(said.mesh), of=f"{said.mesh} mesh", row=said.row)
        for said in passages()
        if said.who in CREATURES and said.mesh in mesh_names()
    ]
    walk = ("queen_excluder", "queen_excluder.plastic", "queen_excluder.wire", "queen_excluder.british",
            "drone_excluder", "hornet_gap")  # fmt: skip
    return (
        *cells,
        *(
            Observation("worker", True, Clear(FREE, _least(row[name])), of=f"a gap of {row[name].value}", row=row[name])
            for name in walk
        ),
        _hole("worker", True, row["pollen_stripper"]),
        _stopped("worker", fact("vent.slit_clear")),
        _stopped("queen", row["queen_excluder"]),
        _stopped("queen", row["queen_excluder.british"]),
        _stopped("drone", row["drone_excluder"]),
        _stopped("mouse", row["mouse_slot"]),
        _hole("mouse", True, row["mouse_slot.contrary"], "a gap"),
        _hole("mouse", False, row["mouse_hole"]),
        replace(_stopped("mouse", row["mouse_skull"]), of=f"a skull of {row['mouse_skull'].value}", below=True),
    )


_SAID = (
    "queen_excluder", "queen_excluder.plastic", "queen_excluder.wire", "queen_excluder.british", "drone_excluder",
    "hornet_gap", "pollen_stripper", "mouse_slot", "mouse_slot.contrary", "mouse_hole", "mouse_skull",
)  # fmt: skip


def _least(row: Fact) -> Length:
    return row.range[0] if " to " in row.value else row.length


def _cell(name: str) -> Clear:
    clear = mesh(name).clear_opening
    return Clear(clear, clear)


def _stopped(who: str, row: Fact) -> Observation:
    return Observation(who, False, Clear(ENDLESS, _least(row)), of=f"a gap of {row.value}", row=row)


def _hole(who: str, passes: bool, row: Fact, word: str = "a hole") -> Observation:
    return Observation(who, passes, Clear(row.length, row.length, is_round=True), of=f"{word} of {row.value}", row=row)


def openings_of(placed: Iterable[Placed], spaces: Iterable[Space] = ()) -> tuple[Opening, ...]:
    """The openings of these parts, in the order of the parts. Identical openings are counted together.

    Openings are the cells of mesh; cuts through a part (bee holes, vent holes, entrances, bees' passages) or, if mesh
    covers the cut, the cells of that mesh; the slit between a cover and the walls below; and declared spaces named as
    entrances. Fixing holes, the gaps of a box joint and spaces left in the sugar are not openings.
    """
    parts = tuple(each for each in placed if each.role is not Role.FILLING)
    sheets = tuple(each for each in parts if each.part.material.mesh is not None)
    seen: list[tuple[str, str, Clear, str]] = []
    for each in parts:
        if each.part.material.mesh is not None:
            name, clear = _mesh_of(each.part.material.mesh)
            seen.append((name, each.part.name, clear, "mesh"))
        seen += _cut_through(each, sheets)
    seen += _slits(parts)
    for space in spaces:
        if space.name == OpeningName.ENTRANCE:
            seen.append(("entrance without its guard", "bottom board", _face(space.box, 0, False), "slot"))
    return tuple(Opening(*key, count=seen.count(key), verdicts=verdicts_on(key[2])) for key in dict.fromkeys(seen))


_NO_WAY = frozenset({"fixing hole", "finger gap"})
_WALLS = ("side", "end", "front end", "back end", "box side", "box end")


def _mesh_of(kind: Mesh) -> tuple[str, Clear]:
    return f"{kind.sold(unit_of_lengths())} mesh", Clear(kind.clear_opening, kind.clear_opening)


def _cut_through(each: Placed, sheets: tuple[Placed, ...]) -> list[tuple[str, str, Clear, str]]:
    found = []
    for cut, hollow in zip(each.part.cuts, each.hollows, strict=True):
        axis = _through(each, hollow)
        if axis is None or cut.name in _NO_WAY:
            continue
        screen = next((s for s in sheets if s is not each and _covers(s.box, hollow, axis)), None)
        if screen is not None and screen.part.material.mesh is not None:
            name, clear = _mesh_of(screen.part.material.mesh)
            found.append((f"{cut.name} behind {name}", each.part.name, clear, "mesh"))
            continue
        is_round = isinstance(cut.outline, RoundOutline)
        found.append((cut.name, each.part.name, _face(hollow, axis, is_round), "hole" if is_round else "slot"))
    return found


def _slits(parts: tuple[Placed, ...]) -> list[tuple[str, str, Clear, str]]:
    """The slits between the top of a cover and the walls below it, each as long as the longest wall."""
    tops = tuple(each for each in parts if each.part.name == PartName.COVER_TOP)
    walls = tuple(each for each in parts if each.part.name in _WALLS)
    between = gap(walls, tops)
    if between is None or between <= ZERO:
        return []
    long = max(wall.box.size(axis) for wall in walls for axis in (0, 1))
    return [(OpeningName.SLIT, PartName.COVER_TOP, Clear(long, between), "slot")]


def _through(placed: Placed, hollow: Cuboid) -> int | None:
    """The axis along which a cut goes through its part, or None for a rabbet, a groove or a step."""
    whole = placed.box
    thin = min(range(3), key=lambda axis: whole.size(axis))
    return thin if hollow.low[thin] == whole.low[thin] and hollow.high[thin] == whole.high[thin] else None


def _face(hollow: Cuboid, axis: int, is_round: bool) -> Clear:
    first, second = (hollow.size(n) for n in range(3) if n != axis)
    return Clear(first, second, is_round)


def _covers(sheet: Cuboid, hollow: Cuboid, axis: int) -> bool:
    """Whether a sheet covers the mouth of a hole and overlaps it all around."""
    others = [n for n in range(3) if n != axis]
    past = all(sheet.low[n] <= hollow.low[n] and hollow.high[n] <= sheet.high[n] for n in others)
    touches = sheet.high[axis] == hollow.low[axis] or sheet.low[axis] == hollow.high[axis]
    return past and touches


@dataclass(frozen=True, slots=True)
class Creature:
    """A walking creature and the narrowest opening it can pass through.

    If `strict` is true, `size` is the largest width that stops the creature, which can pass through anything wider. If
    `bold` is true, the creature passes through openings on which sources disagree.
    """

    name: str
    kind: str
    size: Length
    _: KW_ONLY
    strict: bool
    row: Fact
    bold: bool = True

    def passes(self, clear: Clear) -> bool:
        """Whether the creature passes through an opening: what the sources say or, if none does, what its size says."""
        return _passes(self, clear)


@cache
def _passes(who: Creature, clear: Clear) -> bool:
    said = {each.passes for each in verdicts_on(clear) if each.who == who.kind}
    if len(said) == 1:
        return said.pop()
    if said:
        return who.bold
    least = min(clear.width, clear.height)
    return least > who.size if who.strict else least >= who.size


def worker() -> Creature:
    """The worker, with the smallest clear width that she can pass according to any source.

    This is the width of the slots in a plastic queen excluder.

    >>> print(worker().size == millimetre("4.05"), worker().row.key)
    True opening.queen_excluder.plastic
    """
    row = fact("opening.queen_excluder.plastic")
    return Creature("worker", "worker", row.range[0], strict=False, row=row)


def worker_width(unit: LengthUnit) -> str:
    """The narrowest gap that a worker can pass through, as text. Rounded down: inches to a thousandth, mm to a tenth.

    >>> worker_width("in"), worker_width("mm")
    ('0.159 in', '4 mm')
    """
    size = worker().size
    if unit == "mm":
        return size.down_to(millimetre("1/10")).text("mm")
    return f"{decimals(Fraction(int(size.inches * 1000), 1000), 3)} in"


def closed_limit(unit: LengthUnit) -> str:
    """The upper limit for a gap that must be closed to bees, as text."""
    return f"under {worker_width(unit)}, too narrow for a worker"


@cache
def creatures() -> tuple[Creature, ...]:
    """The worker, the queen, the drone, and the mouse according to each of two sources.

    For a queen or drone, `size` is the widest gap that stops it according to a source. One mouse is stopped by 8 mm and
    by openings on which sources disagree. The other mouse passes through 8 mm and through such openings.
    """
    queen, drone = fact("opening.queen_excluder.british"), fact("opening.drone_excluder")
    slot, contrary = fact("opening.mouse_slot"), fact("opening.mouse_slot.contrary")
    return (
        worker(),
        Creature("queen", "queen", queen.length, strict=True, row=queen),
        Creature("drone", "drone", drone.range[1], strict=True, row=drone),
        Creature("mouse", "mouse", slot.length, strict=True, row=slot, bold=False),
        Creature("small mouse", "mouse", contrary.length, strict=False, row=contrary),
    )


def as_met(parts: tuple[Placed, ...], who: Creature) -> tuple[tuple[Placed, ...], tuple[Placed, ...]]:
    """The parts that are solid to a creature, and the sheets of mesh among them that it can pass through.

    A round hole that the creature can pass counts as its bounding square. Any other round hole counts as solid.
    """
    met, sheets = [], []
    for placed in parts:
        if (kind := placed.part.material.mesh) is not None:
            clear = kind.clear_opening
            if who.passes(Clear(clear, clear)):
                sheets.append(placed)
        met.append(_holes_as_met(placed, who))
    return tuple(met), tuple(sheets)


def _holes_as_met(placed: Placed, who: Creature) -> Placed:
    if not any(isinstance(cut.outline, RoundOutline) for cut in placed.part.cuts):
        return placed
    cuts = []
    for cut in placed.part.cuts:
        if isinstance(cut.outline, RoundOutline):
            wide = cut.outline.diameter
            if not who.passes(Clear(wide, wide, is_round=True)):
                continue
            cut = replace(cut, outline=cut.outline.square)
        cuts.append(cut)
    return replace(placed, part=replace(placed.part, cuts=tuple(cuts)))


def breathing(parts: tuple[Placed, ...]) -> tuple[Placed, ...]:
    """The parts that stop air: all except cloth, shavings and plain mesh."""
    return tuple(each for each in parts if not (each.part.material.kind.breathes or _is_mesh(each)))


def _is_mesh(placed: Placed) -> bool:
    return placed.part.material.mesh is not None and placed.part.thickness > ZERO and placed.role is not Role.FILLING
