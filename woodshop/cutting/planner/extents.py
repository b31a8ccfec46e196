"""Sizes to be made, and how long a section, and how wide a panel, may as well be: sums of what is cut from it side by
side."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

_MOST_SUMS = 20_000


@dataclass(frozen=True, slots=True)
class SameBlanks:
    """Blanks of equal size, made together; `ids` with their counts, in the order of the job."""

    length: int
    width: int
    count: int
    rotate: bool
    ids: tuple[tuple[str, int], ...]


def lays_of(size: SameBlanks) -> tuple[tuple[int, int, bool], ...]:
    """Length and width as laid, and whether that is turned against (length, width) of the size."""
    if size.rotate:
        return ((size.length, size.width, False), (size.width, size.length, True))
    return ((size.length, size.width, False),)


def widths_in_block(sizes: Sequence[SameBlanks], length: int, *, trim: bool) -> dict[int, int]:
    """The widths that go into a block so long (with a final trim also of shorter blanks), and how many of each."""
    counts: dict[int, int] = {}
    for size in sizes:
        widths = [lay[1] for lay in lays_of(size) if lay[0] == length or (trim and lay[0] < length)]
        if widths:
            counts[min(widths)] = counts.get(min(widths), 0) + size.count
    return counts


def sums_of(parts: Mapping[int, int], longest: int, kerf: int) -> tuple[set[int], bool]:
    """Every sum up to `longest` of parts (extent: how many at most) with kerfs between, and whether these are all: of
    very many sums only some are kept.

    >>> sums, is_all = sums_of({10: 2, 7: 1}, 25, 1)
    >>> sorted(sums), is_all
    ([7, 10, 18, 21], True)
    """
    sums, is_all = _sums_of(tuple(sorted(parts.items(), reverse=True)), longest, kerf)
    return set(sums), is_all


@lru_cache(maxsize=128)  # strips of one width are asked for in every stretch that holds them
def _sums_of(parts: tuple[tuple[int, int], ...], longest: int, kerf: int) -> tuple[frozenset[int], bool]:
    sums, is_all = {0}, True
    for part, most in parts:
        count = min(most, (longest + kerf) // (part + kerf))
        sums = {
            total + n * (part + kerf)
            for total in sums
            for n in range(count + 1)
            if total + n * (part + kerf) <= longest + kerf
        }
        if len(sums) > _MOST_SUMS:
            is_all = False
            sums = set(sorted(sums)[:: len(sums) // (_MOST_SUMS // 4)])
    return frozenset(total - kerf for total in sums if total), is_all


def spread_of(extents: Sequence[int], most: int, longest: int, kerf: int, whole: int) -> list[int]:
    """At most so many of the extents (ascending): the longest up to each equal share of `whole` and of its rest, and an
    even spread."""

    def under(limit: int) -> int | None:
        return next((extent for extent in reversed(extents) if extent <= limit), None)

    wanted: list[int | None] = [extents[-1]]
    for shares in range(1, 9):
        share = (whole + kerf) // shares - kerf
        if share <= longest:
            wanted += [under(share), under(share - 1)]
    least = -(-(whole + kerf) // (longest + kerf))
    for extent in [e for e in wanted if e is not None]:
        for n in range(1, least + 1):
            wanted.append(under(min(longest, whole - n * (extent + kerf))))
    chosen = dict.fromkeys(extent for extent in wanted if extent is not None and extent > 0)
    step = max(1, len(extents) // max(1, most - len(chosen)))
    chosen |= dict.fromkeys(extents[::-1][::step])
    return list(chosen)[:most]
