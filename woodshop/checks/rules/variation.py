"""What moves the gaps, in the report: one line on sizes that stray, and one on wood where it breaks a limit."""

from collections.abc import Sequence

from woodshop.checks.variation.gap_variation import MovedGap
from woodshop.checks.variation.hive_variation import MovedHives
from woodshop.findings import Finding, Severity
from woodshop.units.wording import Wording

WORTH_TELLING = 0.005  # of all hives; with fewer the report says nothing
_COUNTS = 0.01  # a size that makes less of a gap's spread is not named
_PARTS = ("front", "back", "left", "right", "all", "lane", "strip", "spacer")
_MOSTLY = 0.5
_MORE = "See the chapter What moves the gaps, or: woodshop check --moves."


def check_moves(moved: Sequence[MovedHives], wording: Wording) -> list[Finding]:
    """How many hives will have a gap of ours outside its limits, and what damp does to gaps."""
    return [*_tolerance_findings(moved, wording), *_swells(moved, wording)]


def in_a_hundred(share: float) -> str:
    """A share of hives in words.

    >>> in_a_hundred(0.024), in_a_hundred(0.0051), in_a_hundred(0.0001)
    ('2 hives in 100', '1 hive in 100', 'under 1 hive in 100')
    """
    whole = int(share * 100 + 0.5)
    if not whole:
        return "under 1 hive in 100"
    return f"{whole} hive{'s' if whole != 1 else ''} in 100"


def hangs_on(gap: MovedGap) -> tuple[tuple[str, float], ...]:
    """The three sizes that matter most to a gap, each with its share of the gap's variance."""
    if gap.by_arithmetic is None:
        return ()
    return tuple((each.size, each.of_variance) for each in gap.by_arithmetic.matter_most if each.of_variance >= _COUNTS)


def place_of(gap: MovedGap) -> str:
    """Where the first of a gap's places is, without its side, lane or number."""
    place = gap.chain.where[0]
    while place.rpartition(", ")[2].split(" ")[0] in _PARTS and ", " in place:
        place = place.rpartition(", ")[0]
    return place


def broken(gap: MovedGap) -> str:
    """A gap outside its limits in plain words: the limit that it breaks more often."""
    thing, _, under = place_of(gap).partition(" on ")
    if gap.chain.name == "overhang":
        return f"{thing} past the edge of {under}"
    if gap.chain.kind == "contact":
        lifted = f"mesh of the {thing}" if gap.chain.name == "mesh on wall" else thing
        return f"{lifted} lifted off {under}"
    tight = gap.draws is not None and gap.draws.below > gap.draws.above
    return f"{gap.chain.name} too {'tight' if tight else 'wide'}"


def _tolerance_findings(moved: Sequence[MovedHives], wording: Wording) -> list[Finding]:
    told = [each for each in moved if each.moves.outside >= WORTH_TELLING and each.moves.own]
    if not told:
        return []
    worst = max(told, key=lambda each: each.moves.outside)
    gap = worst.moves.own[0]
    least = min(told, key=lambda each: each.moves.outside).moves.outside
    low, high = in_a_hundred(least), in_a_hundred(worst.moves.outside)
    range_ = high if low == high else f"{low.split(' ')[0]} to {high}"
    most = f", most of {worst.names[0]}" if len(told) > 1 and low != high else ""
    sizes = ", ".join(f"{name} ({share:.0%})" for name, share in hangs_on(gap))
    count = in_a_hundred(gap.outside).partition(" hive")[0]
    return [
        Finding(
            "sizes-stray",
            Severity.NOTE,
            "; ".join(dict.fromkeys(name for each in told for name in each.names)),
            f"{range_} will have a gap outside its limits as sizes stray{most}: {broken(gap)}, {count} of the 100",
            wording.quoted(gap.wanted.words),
            f"{worst.moves.count:,} hives drawn, their sizes straying as listed under the defaults",
            f"It hangs most on: {sizes}. {_cure(gap)}{_MORE}",
        )
    ]


def _cure(gap: MovedGap) -> str:
    """What helps where most of a gap's spread comes of the gap measured over the top bars."""
    first = next(iter(hangs_on(gap)), ("", 0.0))
    if not first[0].startswith("gap over the top bars") or first[1] < _MOSTLY:
        return ""
    return "Measure that on more hives, or sort the hives by it. "


def _swells(moved: Sequence[MovedHives], wording: Wording) -> list[Finding]:
    """Gaps that are as wanted when made and measured, and that damp or dry wood takes past a limit."""
    found = []
    for own in (True, False):
        told = [(each, gap) for each in moved for gap in each.moves.changed if gap.is_own is own]
        if not told:
            continue
        _, gap = max(told, key=lambda pair: max(pair[1].wanted.off(end) for end in (pair[1].winter, pair[1].summer)))
        others = len({gap.chain.name for _, gap in told}) - 1
        more = f", and {others} more gap{'s' if others > 1 else ''}" if others else ""
        found.append(
            Finding(
                "wood-breaks-limit" if own else "wood-moves",
                Severity.WARNING if own else Severity.NOTE,
                "; ".join(dict.fromkeys(name for each, _ in told for name in each.names)),
                f"{gap.chain.name}: {wording.about(gap.made)} as it is made, {wording.about(gap.winter)} in winter, "
                f"{wording.about(gap.summer)} in summer, as wood swells and shrinks{more}",
                wording.quoted(gap.wanted.words),
                "Wood Handbook, Equations 4-5 and 13-2",
                f"Let the wood grow as damp as it will be before you cut it, or leave room for it. {_MORE}"
                if own
                else f"They are your boxes' and frames' own: measure them in the season that matters. {_MORE}",
            )
        )
    return found
