"""Keeps results of measurements, so that after a change of a design only what changed is measured again."""

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from threading import Lock
from typing import Any, TypeVar, cast

from woodshop.units.lengths import unit_of_lengths

_Result = TypeVar("_Result")
MOST = 64  # results; a hobby batch has 3 hives, measured at 5 gaps


class Kept:
    """The latest results of functions of frozen values, at most `most` of them, dropping those longest unused.

    Results also depend on the unit of lengths in sentences. Threads may share one `Kept`.
    """

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._results: OrderedDict[Hashable, Any] = OrderedDict()
        self._lock = Lock()

    def __len__(self) -> int:
        """The number of results that are kept."""
        return len(self._results)

    def of(self, function: Callable[..., _Result], *given: Hashable) -> _Result:
        """The result of `function(*given)`, calculated only if it is not kept."""
        return self.each(function, [given])[0]

    def each(
        self,
        function: Callable[..., _Result],
        tasks: Sequence[tuple[Hashable, ...]],
        work_out: Callable[[Sequence[tuple[Any, ...]]], list[_Result]] | None = None,
    ) -> list[_Result]:
        """The result of `function(*task)` for each task, in order.

        `work_out` calculates the results of the tasks that are not kept; by default they are calculated one by one.
        """
        unit = unit_of_lengths()
        keys = [(function, unit, task) for task in tasks]
        with self._lock:
            found = {key: self._results[key] for key in keys if key in self._results}
        missing = [key for key in dict.fromkeys(keys) if key not in found]
        new = [task for _, _, task in missing]
        found |= zip(missing, [function(*task) for task in new] if work_out is None else work_out(new), strict=True)
        with self._lock:
            for key in dict.fromkeys(keys):
                self._results[key] = found[key]
                self._results.move_to_end(key)
            while len(self._results) > self._most:
                self._results.popitem(last=False)
        return [cast(_Result, found[key]) for key in keys]
