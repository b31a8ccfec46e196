"""The steps of the bee-space gauge, and what each step shows about a gap."""

from collections.abc import Callable

from woodshop.reference.facts import fact
from woodshop.reference.limits import band, outer_limits
from woodshop.units.lengths import Length
from woodshop.units.wording import LengthUnit, wording_of


def gauge_steps(unit: LengthUnit = "in") -> tuple[tuple[Length, str], ...]:
    """The thickness of each step, from thin to thick, and its meaning.

    These are the facts that the checks use; in a metric design they are rounded into the band, to half millimeters.
    """
    chosen, (tightest, widest) = band(), outer_limits()
    low, high = wording_of(unit).inward(chosen.least, chosen.most)
    tightest, widest = wording_of(unit).inward(tightest, widest)
    return (
        (tightest, "does not fit, the gap is too tight (an error)"),
        (low, "fits, it is bee space"),
        (high, "fits with play, it is wider than bee space"),
        (widest, "fits with play, it is too wide (an error)"),
    )


def closed_test(unit: LengthUnit) -> str:
    """How to test with a drill bit whether a gap is closed to bees. (The gauge's steps are too thick for that.)

    >>> closed_test("in")
    'no gap may be over 1/8 in, so a 1/8 in drill bit must not fit anywhere'
    """
    size = closed_bit(unit)
    return f"no gap may be over {size}, so a {size} drill bit must not fit anywhere"


def closed_bit(unit: LengthUnit) -> str:
    """The size of the drill bit that must not fit a gap closed to bees, as text."""
    return fact("gauge.closed").length_in(unit).text(unit)


def limit_test(least: Length, most: Length, say: Callable[[Length], str], unit: LengthUnit = "in") -> str:
    """A test of a gap with limits `least` and `most`: which step must fit, and which must be snug or not fit.

    >>> from woodshop.units.lengths import inch
    >>> limit_test(inch("3/16"), inch("3/8"), str)
    'the 3/16 in step must fit; the 3/8 in step must be snug or not fit'
    """
    steps = [step for step, _ in gauge_steps(unit)]
    low = next((step for step in steps if step >= least), steps[-1])
    high = next((step for step in reversed(steps) if step <= most), steps[0])
    return f"the {say(low)} step must fit; the {say(high)} step must be snug or not fit"


def gauge_test(space: Length, say: Callable[[Length], str], unit: LengthUnit = "in") -> str:
    """A test of a gap that bees use: which step must just fit, and which step must not fit.

    >>> from woodshop.units.lengths import inch
    >>> gauge_test(inch("5/16"), str), gauge_test(inch("1/8"), str)
    ('the 1/4 in step must fit, and the 3/8 in step must not', 'the 3/16 in step must not fit')
    """
    steps = [step for step, _ in gauge_steps(unit)]
    fits = [step for step in steps if step <= space]
    more = [step for step in steps if step > space]
    if not fits:
        return f"the {say(more[0])} step must not fit"
    if not more:
        return f"the {say(fits[-1])} step must fit with play"
    return f"the {say(fits[-1])} step must fit, and the {say(more[0])} step must not"
