"""The sizes of a hive that can stray: each by name, and the hive made again with some of them changed.

A size is elementary: one measure of one kind of part, such as the height of a rim or the thickness of a lug. What
hangs on it follows: a thicker lug raises its bar, a thicker wall makes its box wider outside. Frames of one box are
alike, and so are the walls of a thing: their sizes stray together.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from woodshop.hive.stacking.place import Place
from woodshop.hive.stacking.stack import Load, Stack, Woodenware, stack_up
from woodshop.hive.variation.made_sizes import made_sizes
from woodshop.hive.variation.moved_faces import warped
from woodshop.hive.variation.sizes import Dimension, Target, Work
from woodshop.units.lengths import ZERO, Length

ONE, TWO = Fraction(1), Fraction(2)
GAP_OVER, LUGS = "gap over the top bars", "thickness of the lugs"


@dataclass(frozen=True, slots=True)
class Standing:
    """A hive as it is put together: what the user has, and what is put on it.

    `ripped` are the things whose walls are ripped to their height, not used as wide as the boards come.
    """

    name: str
    ware: Woodenware
    loads: tuple[Load, ...] = ()
    ripped: frozenset[Place] = frozenset()

    @property
    def stack(self) -> Stack:
        """The hive put together."""
        return stack_up(self.name, self.ware, self.loads)


def dimensions_of(standing: Standing) -> tuple[Dimension, ...]:
    """Every size of a hive that can stray, what is made first, then the user's own from the ground up."""
    made = [
        size
        for each in standing.loads
        for size in made_sizes(each.place, each.assembly, ripped=each.place in standing.ripped)
    ]
    return (*made, *_of_ware(standing.ware))


def remade(standing: Standing, by: Mapping[str, Length]) -> Standing:
    """The hive with sizes changed by so much each, those by name; the others as they are.

    Things stay centred on the boxes. Raises KeyError for a name that is none of its sizes, ValueError when a part is
    left with no size, InputError when nothing is left to stand on.
    """
    known = {each.name: each for each in dimensions_of(standing)}
    changed = [(known[name], amount) for name, amount in by.items()]
    return replace(standing, ware=_ware(standing.ware, changed), loads=_loads(standing, changed))


def _loads(standing: Standing, changed: list[tuple[Dimension, Length]]) -> tuple[Load, ...]:
    """Each centred by the middle of the box that it was made for, however that box has strayed."""
    top = standing.ware.boxes[-1][0]
    found = []
    for each in standing.loads:
        moves = [(move, by) for size, by in changed for place, move in size.moves if place == each.place]
        made_for = each.made_for or (top.length, top.width)
        found.append(replace(each, assembly=warped(each.assembly, moves), made_for=made_for))
    return tuple(found)


def _ware(ware: Woodenware, changed: list[tuple[Dimension, Length]]) -> Woodenware:
    totals: dict[Target, dict[str, Length]] = {}
    for size, by in changed:
        for target, field, share in size.fields:
            of = totals.setdefault(target, {})
            of[field] = of.get(field, ZERO) + share * by

    def with_changes(thing: Any, target: Target) -> Any:
        of = totals.get(target)
        return thing if of is None else replace(thing, **{name: getattr(thing, name) + by for name, by in of.items()})

    boxes = tuple(
        (
            with_changes(replace(box, bar=with_changes(box.bar, ("bar", n))), ("box", n)),
            with_changes(frame, ("frame", n)),
        )
        for n, (box, frame) in enumerate(ware.boxes)
    )
    bottom, inner, cover = (
        None if thing is None else with_changes(thing, (name, 0))
        for name, thing in (("bottom", ware.bottom), ("inner", ware.inner), ("cover", ware.cover))
    )
    return Woodenware(boxes, bottom, inner, cover)


def _of_ware(ware: Woodenware) -> Iterable[Dimension]:
    if ware.bottom is not None:
        high = ware.bottom.entrance_height
        yield Dimension(
            "height of the entrance",
            high,
            work=Work.BOX,
            swells=high,
            fields=((("bottom", 0), "entrance_height", ONE),),
        )
    for n in range(len(ware.boxes)):
        yield from _of_frames(ware, n)
        yield from _of_box(ware, n)
    if ware.inner is not None:
        thick = ware.inner.thickness
        yield Dimension(
            "thickness of the inner cover",
            thick,
            work=Work.BOX,
            swells=thick,
            fields=((("inner", 0), "thickness", ONE),),
        )
    if ware.cover is not None:
        for word, field in (("length", "length"), ("width", "width")):
            name = f"inside {word} of the cover"
            yield Dimension(name, getattr(ware.cover, field), work=Work.BOX, fields=((("cover", 0), field, ONE),))
        if not ware.cover.is_flat:
            skirt = ware.cover.skirt
            yield Dimension(
                "depth of the cover's skirt", skirt, work=Work.BOX, swells=skirt, fields=((("cover", 0), "skirt", ONE),)
            )


def _of_box(ware: Woodenware, n: int) -> Iterable[Dimension]:
    """The walls of a box: sides as long as the box, ends between them; and the gap over its bars."""
    box, at, where = ware.boxes[n][0], ("box", n), f"box {n + 1}"
    yield Dimension(
        f"{GAP_OVER}, {where}", box.gap, work=Work.GAP, swells=box.gap + box.bar.lug, fields=((at, "gap", ONE),)
    )
    yield Dimension(
        f"height of {where}", box.height, work=Work.HEIGHT, swells=box.height, fields=((at, "height", ONE),)
    )
    yield Dimension(f"length of {where}", box.length, work=Work.BOX, fields=((at, "length", ONE),))
    yield Dimension(f"inside width of {where}", box.inside_width, work=Work.BOX, fields=((at, "width", ONE),))
    thick = ((at, "wall", ONE), (at, "width", TWO))
    yield Dimension(f"thickness of the walls, {where}", box.wall, work=Work.BOARD, swells=box.wall, fields=thick)


def _of_frames(ware: Woodenware, n: int) -> Iterable[Dimension]:
    """Frames hang by their lugs: a thicker lug raises bar and frame, with its end bars as long as they were."""
    box, frame = ware.boxes[n]
    at, bar, of, where = ("box", n), ("bar", n), ("frame", n), f"box {n + 1}"
    rises = ((bar, "lug", ONE), (at, "gap", -ONE), (of, "depth", ONE))
    yield Dimension(f"{LUGS}, {where}", box.bar.lug, work=Work.FRAME, swells=box.bar.lug, fields=rises)
    long = ((of, "depth", ONE),)
    yield Dimension(f"height of the end bars, {where}", frame.depth - box.bar.lug, work=Work.FRAME, fields=long)
    wide = ((bar, "spacing", ONE), (of, "end_width", ONE))
    yield Dimension(
        f"width of the end bars, {where}", box.bar.spacing, work=Work.FRAME, swells=box.bar.spacing, fields=wide
    )
    yield Dimension(
        f"width of the end bars below, {where}",
        frame.end_below,
        work=Work.FRAME,
        swells=frame.end_below,
        fields=((of, "end_below", ONE),),
    )
    yield Dimension(
        f"width of the top bars, {where}",
        box.bar.width,
        work=Work.FRAME,
        swells=box.bar.width,
        fields=((bar, "width", ONE),),
    )
    yield Dimension(f"length of the top bars, {where}", box.bar.length, work=Work.FRAME, fields=((bar, "length", ONE),))
    yield Dimension(f"length of the frames, {where}", frame.length, work=Work.FRAME, fields=((of, "length", ONE),))
