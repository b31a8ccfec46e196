"""Lower bounds of the goals that need no search."""

from woodshop.schedule.prepare import Prepared


def simple_bounds(prepared: Prepared) -> tuple[int, ...]:
    """A lower bound of each goal, in the order of `GOALS`."""
    return (0, 0, 0, 0, 0)
