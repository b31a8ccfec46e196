"""The sizes that can stray of what is made for a hive, read off its placed parts: walls, mesh, strips, squares."""

from collections.abc import Iterable, Iterator
from fractions import Fraction

from woodshop.hive.stacking.place import Place, Varying
from woodshop.hive.variation.moved_faces import Move
from woodshop.hive.variation.sizes import Dimension, Work
from woodshop.shape.part import Assembly, Placed, Role
from woodshop.units.lengths import ZERO, Length

ONE, HALF = Fraction(1), Fraction(1, 2)
_ON_MESH = ("mesh", "packed sugar", "bar", "half bar")
_INSIDE = ("packed sugar", "shavings")
_SCREEN = ("vent screen",)
X, Y, Z = 0, 1, 2


def made_sizes(place: Place, made: Assembly, ripped: bool = False) -> Iterator[Dimension]:
    """Every size of a thing that can vary, as its place declares; none where it declares none."""
    if place.rim:
        yield from _walled(place, made, ripped)
    for each in place.varying:
        yield from _declared(place, each, made)


def _size(
    place: Place, name: str, nominal: Length, *, work: Work, moves: tuple[Move, ...], swells: bool, made: bool = True
) -> Dimension:
    wood = nominal if swells else ZERO
    return Dimension(name, nominal, work=work, swells=wood, made=made, moves=tuple((place, move) for move in moves))


def _declared(place: Place, of: Varying, made: Assembly) -> Iterator[Dimension]:
    """A height, one for each height that its parts have; or a length, from the middle both ways."""
    boxes = [each.box for each in made.named(of.part)]
    for high, tall in sorted({(box.high[Z], box.size(Z)) for box in boxes}) if of.axis == Z else ():
        top = _at((of.part, *of.along), Z, high)
        yield _size(place, of.name, tall, work=of.work, moves=(top,), swells=of.swells, made=of.made)
    for box in boxes[:1] if of.axis != Z else ():
        middle = (box.low[of.axis] + box.high[of.axis]) / 2
        moves = _spread((of.part, *of.along), of.axis, middle, middle)
        yield _size(place, of.name, box.size(of.axis), work=of.work, moves=moves, swells=of.swells, made=of.made)


def _walled(place: Place, made: Assembly, ripped: bool) -> Iterator[Dimension]:
    """A thing with four walls: as high as they are, as long as its sides, as wide as its ends and what is past them."""
    word, (side_name, *end_names) = place.rim, place.walls
    sides = made.named(side_name)
    ends = tuple(each for name in end_names for each in made.named(name))
    walls = (*sides, *ends)
    if not sides or not ends:
        return
    names, ours = (side_name, *end_names), walls[0].role is Role.MADE
    screen = max((each.part.thickness for each in made.named(*_SCREEN)), default=ZERO)  # stapled to the walls inside
    high, wood = max(each.box.high[Z] for each in walls), sides[0].part.thickness
    as_it_comes, cut = (Work.BOARD, Work.TAPE) if ours else (Work.BOX, Work.BOX)
    work = Work.SAW if ripped and ours else as_it_comes
    yield _size(place, f"height of the {word}", high, work=work, moves=(_at(names, Z, high),), swells=True, made=ours)
    for title, axis, of in (("sides", X, sides), ("ends", Y, ends)):
        low, far = _ends(walls, axis)
        moves = (
            *_spread((*names, *_INSIDE), axis, low + wood, far - wood),
            *_spread(_SCREEN, axis, low + wood + screen, far - wood - screen),
        )
        name = f"length of the {word}'s {title}"
        yield _size(place, name, of[0].part.length, work=cut, moves=moves, swells=False, made=ours)
    thick = (
        *_thicker(names, walls, sides, others=ends, wood=wood, screen=screen),
        *_thicker(names, walls, ends, others=sides, wood=wood, screen=screen),
    )
    yield _size(place, f"thickness of the {word}'s wood", wood, work=as_it_comes, moves=thick, swells=True, made=ours)
    yield from _mesh_height(place, walls, names)
    for hollow in (each for name in place.passages for each in _hollows(walls, name)):
        top = hollow[1]
        opening = Move(frozenset(names), Z, top, high=top, share=ONE, cuts=frozenset(place.passages))
        yield _size(
            place, f"upper edge of the entrance in the {word}", top, work=cut, moves=(opening,), swells=True, made=ours
        )


def _mesh_height(place: Place, walls: Iterable[Placed], names: tuple[str, ...]) -> Iterator[Dimension]:
    """Where the mesh lies: against the upper face of its rabbet, or on the wood below its groove."""
    on_mesh = Move(frozenset(_ON_MESH), Z, None, high=None, share=ONE)
    for name, title, end in (
        ("mesh rabbet", "height of the mesh rabbet", 1),
        ("mesh groove", "wood below the mesh groove", 0),
    ):
        hollows = sorted(set(_hollows(walls, name)))
        if hollows:
            low, high = hollows[0]
            faces = (high,) if end else (low, high)
            moves = tuple(
                Move(frozenset(names), Z, face, high=face, share=ONE, cuts=frozenset({name})) for face in faces
            )
            at = hollows[0][end]
            yield _size(place, title, at, work=Work.RABBET, moves=(*moves, on_mesh), swells=True)


def _hollows(walls: Iterable[Placed], name: str) -> list[tuple[Length, Length]]:
    """Lower and upper edge of every cut of that name."""
    return [
        (hollow.low[Z], hollow.high[Z])
        for each in walls
        for cut, hollow in zip(each.part.cuts, each.hollows, strict=True)
        if cut.name == name
    ]


def _ends(parts: Iterable[Placed], axis: int) -> tuple[Length, Length]:
    boxes = [each.box for each in parts]
    return min(box.low[axis] for box in boxes), max(box.high[axis] for box in boxes)


def _at(parts: tuple[str, ...], axis: int, at: Length) -> Move:
    """The faces at one place."""
    return Move(frozenset(parts), axis, at, high=at, share=ONE)


def _spread(parts: tuple[str, ...], axis: int, low: Length, high: Length) -> tuple[Move, ...]:
    """Faces up to `low` and from `high` on, away from each other by half each; one between stays."""
    names = frozenset(parts)
    return Move(names, axis, None, high=low, share=-HALF), Move(names, axis, high, high=None, share=HALF)


def _thicker(
    names: tuple[str, ...],
    walls: tuple[Placed, ...],
    these: tuple[Placed, ...],
    *,
    others: tuple[Placed, ...],
    wood: Length,
    screen: Length,
) -> tuple[Move, ...]:
    """These walls thicker: outwards where the others stop at them and keep their length, else inwards.

    The faces of these walls, and what lies against them inside; the others go along where they stop at them.
    """
    axis = X if these[0].box.size(X) < these[0].box.size(Y) else Y
    low, high = _ends(walls, axis)
    stop = others[0].box.low[axis] > low
    found = []
    for sign, edge, inner in ((-1, low, low + wood), (1, high, high - wood)):
        if stop:
            found.append(Move(frozenset(names), axis, edge, high=edge, share=ONE * sign))
        else:
            found.append(Move(frozenset((*names, *_INSIDE)), axis, inner, high=inner, share=-ONE * sign))
            ends = sorted((inner, inner - screen * sign))
            found.append(Move(frozenset(_SCREEN), axis, ends[0], high=ends[1], share=-ONE * sign))
    return tuple(found)
