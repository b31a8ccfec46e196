"""Every named gap of a hive, measured on its placed parts: each pair of faces, or gathered by name and place."""

from dataclasses import replace
from functools import lru_cache

from woodshop.hive.gaps.board_gaps import all_board_gaps
from woodshop.hive.gaps.cover_gaps import all_cover_gaps
from woodshop.hive.gaps.faces import Faces
from woodshop.hive.gaps.faces import Gap as Gap
from woodshop.hive.gaps.frame_gaps import all_frame_gaps
from woodshop.hive.stacking.stack import Stack

_KEPT = 256  # hives whose gaps are remembered: checks and maps ask for the same ones


@lru_cache(_KEPT)
def measure_gaps(stack: Stack) -> tuple[Gap, ...]:
    """Every gap between two faces of two parts, from the ground up.

    A part that is shifted changes the gaps that it is a side of, along that axis, by just so much, and no others.
    """
    faces = Faces(stack)
    return (*all_frame_gaps(faces), *all_board_gaps(faces), *all_cover_gaps(faces))


def gathered(gaps: tuple[Gap, ...]) -> tuple[Gap, ...]:
    """The gaps of one name at one place as one, from the least to the greatest; between the parts of the least.

    >>> from woodshop.units.lengths import inch
    >>> pair = ("top bar 1, box 1", "top bar 2, box 1")
    >>> size, kind = inch("3/8"), "bees' way"
    >>> wide = Gap(name="between bars", place="box 1", least=size, most=size, between=pair, kind=kind, own=False)
    >>> (one,) = gathered((wide, replace(wide, least=inch("1/4"), most=inch("1/4"))))
    >>> str(one.least), str(one.most)
    ('1/4 in', '3/8 in')
    """
    groups: dict[tuple[str, str], list[Gap]] = {}
    for gap in gaps:
        groups.setdefault((gap.name, gap.place), []).append(gap)
    found = []
    for alike in groups.values():
        least = min(alike, key=lambda gap: gap.least)
        found.append(replace(least, most=max(gap.most for gap in alike), own=any(gap.own for gap in alike)))
    return tuple(found)
