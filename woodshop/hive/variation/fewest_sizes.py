"""Finds the fewest sizes of hardware that fit all boxes of a set, exactly.

A size fits a box if its overhang or setback is within the limit at each side. The sizes that fit a box form a rectangle
(length by width). A group of boxes can share a size that is on marks of the tape and in the rectangles of all these
boxes. The boxes are divided into the fewest such groups.

    allowed, 1/16 at each side            sizes
    16      |----o----|                    |
    16 1/4            |----o----|          | 16 1/8 serves both
         15 7/8      16 1/8    16 3/8
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from woodshop.errors import InputError, Problem
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import INCHES, Wording

MOST_KINDS = 16  # sizes of box that are linked by sizes they could share
MOST_LOOKS = 2_000_000  # groups examined

Footprint = tuple[Length, Length]
Price = tuple[int, int, Fraction]  # sizes, minus the sizes of a box, total overhang in millimeters


@dataclass(frozen=True, slots=True)
class BoxesOfSize:
    """Boxes of one size: their name, outside length and width, and count."""

    name: str
    length: Length
    width: Length
    count: int = 1


@dataclass(frozen=True, slots=True)
class Overhang:
    """A kind of box, and the overhang of the chosen size at each end and side. A negative overhang is a setback."""

    box: BoxesOfSize
    at_ends: Length
    at_sides: Length


@dataclass(frozen=True, slots=True)
class RimSize:
    """An outside size of hardware, the boxes that it fits, and whether one of these boxes has exactly this size."""

    length: Length
    width: Length
    seats: tuple[Overhang, ...]
    is_a_box: bool


def fewest_sizes(
    boxes: Iterable[BoxesOfSize], overhang: Length, mark: Length, wording: Wording = INCHES
) -> tuple[RimSize, ...]:
    """The smallest set of sizes on marks of the tape that fit all boxes, from small to large.

    Of several such sets, the result is the one with the most sizes equal to the size of a box or, if these tie, the one
    with the least overhang, summed over the ends and sides of every box. The order of the boxes does not matter.
    `overhang` is the inclusive limit at each end and side, outward or inward. `mark` is the mark of the tape. Boxes of
    one size count as one kind. Raises InputError if no mark is within the overhang of a box, or if more than MOST_KINDS
    kinds are linked by sizes they could share.

    >>> from woodshop.units.lengths import inch
    >>> boxes = [BoxesOfSize(w, inch("19 7/8"), inch(w)) for w in ("16", "16 1/4", "13 3/4", "13 7/8", "14")]
    >>> [str(size.width) for size in fewest_sizes(boxes, inch("1/16"), inch("1/16"))]
    ['13 7/8 in', '16 1/8 in']
    """
    boxes = tuple(boxes)
    if overhang < ZERO or mark <= ZERO:
        raise ValueError(f"an overhang of {overhang} on marks of {mark}")
    kinds: dict[Footprint, int] = {}
    for box in sorted(boxes, key=lambda b: (b.width, b.length)):
        kinds[box.length, box.width] = kinds.get((box.length, box.width), 0) + box.count
    off = [box for box in boxes if not _marks(box.length, overhang, mark) or not _marks(box.width, overhang, mark)]
    if off:
        raise InputError(*(_off_the_marks(box, overhang, mark, wording) for box in off))
    sizes: list[RimSize] = []
    for together in _hanging_together(list(kinds), overhang, mark):
        search = _Search(together, [kinds[kind] for kind in together], overhang, mark)
        for group, (length, width) in search.best():
            served = {together[n] for n in group}
            seats = tuple(
                Overhang(box, (length - box.length) / 2, (width - box.width) / 2)
                for box in boxes
                if (box.length, box.width) in served
            )
            sizes.append(RimSize(length, width, seats, (length, width) in kinds))
    return tuple(sorted(sizes, key=lambda size: (size.width, size.length)))


def _off_the_marks(box: BoxesOfSize, overhang: Length, mark: Length, wording: Wording) -> Problem:
    size = box.width if _marks(box.length, overhang, mark) else box.length
    say, finer = wording.length, "0.5 mm" if wording.is_metric else "1/32 in"
    return Problem(
        f"{box.name}, {say(box.length)} x {say(box.width)}",
        f"{say(size)}, with no size on a mark within {say(overhang)} at each side",
        f"a size on the tape's marks, {say(mark)} apart",
        f'Allow more overhang, or a finer mark: mark = "{finer}" under [saw].',
    )


def _marks(size: Length, overhang: Length, mark: Length) -> range:
    """The marks that are within the overhang limit of a size, as multiples of `mark`."""
    low, high = size - overhang * 2, size + overhang * 2
    return range(-(-low.mm // mark.mm), high.mm // mark.mm + 1)


def _shared(kinds: Iterable[Footprint], overhang: Length, mark: Length) -> tuple[range, range]:
    """The marks that all of these sizes allow, for length and width."""
    along = across = range(-(10**12), 10**12)
    for length, width in kinds:
        a, b = _marks(length, overhang, mark), _marks(width, overhang, mark)
        along = range(max(along.start, a.start), min(along.stop, a.stop))
        across = range(max(across.start, b.start), min(across.stop, b.stop))
    return along, across


def _hanging_together(kinds: list[Footprint], overhang: Length, mark: Length) -> list[list[Footprint]]:
    """Divides the kinds into sets so that no size could fit kinds of two sets. Each set is an independent problem."""
    left, parts = list(kinds), []
    while left:
        part = [left.pop(0)]
        for one in part:
            sharing = [other for other in left if all(_shared((one, other), overhang, mark))]
            part += sharing
            left = [other for other in left if other not in sharing]
        part.sort(key=lambda kind: (kind[1], kind[0]))
        if len(part) > MOST_KINDS:
            raise InputError(_too_many(f"{len(part)} box sizes that overlap"))
        parts.append(part)
    return parts


def _too_many(given: str) -> Problem:
    return Problem(
        "boxes and overhang",
        given,
        f"at most {MOST_KINDS} that overlap, so that the answer can be proved",
        "Allow less overhang, or remove boxes within a mark of another size.",
    )


class _Search:
    """Depth-first search over groups that contain the first remaining kind. It tries increasing numbers of groups."""

    def __init__(self, kinds: list[Footprint], counts: list[int], overhang: Length, mark: Length) -> None:
        self.kinds, self.counts, self.overhang, self.mark = kinds, counts, overhang, mark
        self.own = set(kinds)
        self.looks = 0
        self.sizes: dict[int, tuple[Price, Footprint] | None] = {}
        self.done: dict[tuple[int, int], tuple[Price, tuple[int, ...]] | None] = {}
        every = range(len(kinds))
        self.friends = [sum(1 << other for other in every if self.size(1 << one | 1 << other)) for one in every]

    def best(self) -> list[tuple[list[int], Footprint]]:
        """The best of the smallest sets of groups. Each group is a list of indices of the kinds, with its size."""
        whole = (1 << len(self.kinds)) - 1
        for most in range(self.apart(whole), len(self.kinds) + 1):
            found = self.parted(whole, most)
            if found is not None:
                return [(self.members(group), self.size_of(group)) for group in found[1]]
        raise AssertionError("each kind is a group of its own")

    def members(self, group: int) -> list[int]:
        return [n for n in range(len(self.kinds)) if group >> n & 1]

    def apart(self, left: int) -> int:
        """A lower bound on the number of groups: a greedy count of kinds, no two of which can share a size."""
        count = 0
        while left:
            first = (left & -left).bit_length() - 1
            left &= ~self.friends[first]
            count += 1
        return count

    def parted(self, left: int, most: int) -> tuple[Price, tuple[int, ...]] | None:
        """The best division of these kinds into at most `most` groups, or None if there is none."""
        if not left:
            return (0, 0, Fraction(0)), ()
        if self.apart(left) > most:
            return None
        if (left, most) not in self.done:
            self.done[left, most] = self.tried(left, most)
        return self.done[left, most]

    def tried(self, left: int, most: int) -> tuple[Price, tuple[int, ...]] | None:
        best: tuple[Price, tuple[int, ...]] | None = None
        for group in self.groups(left, whole=most == 1):
            rest = self.parted(left & ~group, most - 1)
            own = None if rest is None else self.size(group)
            if own is None or rest is None:
                continue
            price = (own[0][0] + rest[0][0], own[0][1] + rest[0][1], own[0][2] + rest[0][2])
            if best is None or price < best[0]:
                best = price, (group, *rest[1])
        return best

    def groups(self, left: int, whole: bool) -> Iterator[int]:
        """Every group that can contain the first remaining kind or, if `whole` is true, only the group of all kinds.

        If every two kinds in a group can share a size, then all of them can, because their allowed sizes form
        rectangles.
        """
        first = left & -left
        if whole:
            yield left
            return
        pending = [(first, left & self.friends[first.bit_length() - 1] & ~first)]
        while pending:
            self.looks += 1
            if self.looks > MOST_LOOKS:
                raise InputError(_too_many(f"{len(self.kinds)} box sizes that overlap in too many ways"))
            group, open_to = pending.pop()
            if not open_to:
                yield group
                continue
            other = open_to & -open_to
            pending.append((group, open_to & ~other))
            pending.append((group | other, open_to & ~other & self.friends[other.bit_length() - 1]))

    def size_of(self, group: int) -> Footprint:
        found = self.size(group)
        if found is None:
            raise AssertionError("a group without a size")
        return found[1]

    def size(self, group: int) -> tuple[Price, Footprint] | None:
        """The best size that these kinds share, and its cost, or None if they share none."""
        if group in self.sizes:
            return self.sizes[group]
        members = self.members(group)
        kinds = [self.kinds[n] for n in members]
        along, across = _shared(kinds, self.overhang, self.mark)
        found = None
        if along and across:
            found = self.chosen(members, along, across)
        self.sizes[group] = found
        return found

    def chosen(self, members: list[int], along: range, across: range) -> tuple[Price, Footprint]:
        """The size of a box if it is on shared marks; otherwise the mark with the least overhang in each direction."""

        def off(axis: int, size: Length) -> Fraction:
            return sum((self.counts[n] * abs(size - self.kinds[n][axis]).mm for n in members), Fraction(0))

        def least(axis: int, marks: range) -> Length:
            return min((off(axis, self.mark * n), self.mark * n) for n in marks)[1]

        boxes = [
            kind
            for kind in self.kinds
            if all(size / self.mark in marks for size, marks in zip(kind, (along, across), strict=True))
        ]
        if boxes:
            _, width, length = min((off(0, kind[0]) + off(1, kind[1]), kind[1], kind[0]) for kind in boxes)
        else:
            length, width = least(0, along), least(1, across)
        return (1, -1 if boxes else 0, off(0, length) + off(1, width)), (length, width)
