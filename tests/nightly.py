"""What is tried in part at each landing and whole at night: `WOODSHOP_NIGHTLY=1` asks for the whole."""

import os
from collections import Counter
from collections.abc import Callable, Sequence
from itertools import combinations
from typing import TypeVar

IS_NIGHT = os.environ.get("WOODSHOP_NIGHTLY") == "1"
EFFORT = "default" if IS_NIGHT else "quick"  # of plans of which a test asks only that they are sound

_Case = TypeVar("_Case")
_Choices = TypeVar("_Choices", bound=tuple[object, ...])


def tries(whole: int) -> int:
    """How many random examples are tried: all at night, else an eighth of them, and no fewer than four."""
    return whole if IS_NIGHT else max(4, whole // 8)


def spread(cases: Sequence[_Case], count: int) -> list[_Case]:
    """All the cases at night; else `count` of them, evenly spread from the first to the last."""
    if IS_NIGHT or len(cases) <= count:
        return list(cases)
    return [cases[n * (len(cases) - 1) // (count - 1)] for n in range(count)]


def every_two(cases: Sequence[_Choices], kinds: Callable[[_Choices], _Choices] = lambda case: case) -> list[_Choices]:
    """All the cases at night; else few, in which every two choices meet that meet in any of them.

    Where `kinds` gives the same for two choices, one of them is enough; they take turns.
    """
    if IS_NIGHT:
        return list(cases)
    pairs = {case: set(combinations(enumerate(kinds(case)), 2)) for case in cases}
    wanted = set().union(*pairs.values())
    chosen: list[_Choices] = []
    used: Counter[object] = Counter()
    while wanted:
        best = max(cases, key=lambda case: (len(wanted & pairs[case]), -sum(used[each] for each in case)))
        wanted -= pairs[best]
        used.update(best)
        chosen.append(best)
    return chosen
