"""Checks the user's own boxes and frames.

The findings are notes. There is one of each kind for all hives, with the measured range.
"""

from collections.abc import Callable, Iterator

from woodshop.checks.hives import MeasuredHive
from woodshop.checks.remedies import CheckContext, given
from woodshop.findings import Finding, Severity
from woodshop.hive.gaps.faces import Gap
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO

_TIER = "bottom bar to top bar beneath"
_FLOOR = "bottom bar to floor"


def check_boxes(whole: CheckContext) -> Iterator[Finding]:
    """Finds problems that exist without our hardware: gaps between boxes, loose frames, boxes that do not match."""
    if found := _outside(whole, _is_tier, "between the frames of two boxes"):
        change = (
            "Bees bridge a wide gap with comb and seal a tight one with propolis. It comes from your boxes and frames; "
            "nothing in this batch changes it."
        )
        yield Finding("gap-between-boxes", Severity.NOTE, *found, change)
    if found := _outside(whole, _is_outer, "beside the outer frames"):
        change = (
            "Bees build comb in a wide space and close a tight one with propolis. Center the frames. "
            "If the space is too wide on both sides, add a follower board."
        )
        yield Finding("loose-frames", Severity.NOTE, *found, change)
    if found := _outside(whole, _is_within, "between frames, or between frames and walls or cover"):
        change = (
            "Bees glue or bridge these gaps, which come from your own boxes and frames. The table of gaps lists them."
        )
        yield Finding("ways-in-the-box", Severity.NOTE, *found, change)
    yield from _default_frames(whole)
    yield from _shallow_frames(whole)
    yield from _boxes_on_boxes(whole)


def _is_tier(gap: Gap) -> bool:
    return gap.name == _TIER


def _is_outer(gap: Gap) -> bool:
    return gap.name.startswith("outer ")


def _is_within(gap: Gap) -> bool:
    return not _is_tier(gap) and not _is_outer(gap) and gap.name != _FLOOR


def _default_frames(whole: CheckContext) -> Iterator[Finding]:
    """Finds hives with measured frames in some boxes and default frames in others."""
    for group in whole.groups:
        ware = group.hives.woodenware
        if 0 < len(ware.default_frames) < len(ware.boxes):
            words = [f"box {n + 1}: {whole.say(ware.boxes[n][1].depth)}" for n in ware.default_frames]
            depths = ", ".join(given(frame.depth, whole.unit) for _, frame in ware.boxes)
            how = f"list the depths, bottom box first: frame_depth = [{depths}]"
            if len({(box.frames, box.bar, box.followers) for box, _ in ware.boxes}) > 1:
                how = "give each [[hives.body]] its frame_depth"
            yield Finding(
                "frames-not-measured",
                Severity.WARNING,
                group.place,
                f"frame depths were not measured, so defaults are used: {', '.join(words)}",
                "a measured frame from every box",
                "the design",
                f"The gaps between these boxes may be wrong. Measure a frame from each box and {how}.",
            )


def _shallow_frames(whole: CheckContext) -> Iterator[Finding]:
    """Finds frames that are far too shallow for their box. They are the user's own, or an unlikely default."""
    row = fact("hive.under_frames_most")
    for group in whole.groups:
        gaps = {
            (gap.name, gap.place): gap
            for _, hive in group.measured
            for gap in hive.gaps
            if (_is_tier(gap) and gap.most > row.length) or (gap.name == _FLOOR and gap.kind == "bees' way")
        }
        if gaps:
            taken = bool(group.hives.woodenware.default_frames)
            words = [f"{place}: {gap.name} {whole.say(gap.most)}" for (_, place), gap in gaps.items()]
            yield Finding(
                "frames-too-shallow",
                Severity.WARNING if taken else Severity.NOTE,
                group.place,
                "; ".join(words),
                f"at most {row.worded(whole.wording)} below the frames in their box",
                row.cite,
                "Bees fill the space with comb. Measure a frame from each box and set frame_depth"
                + (" (a default was used)." if taken else ", or use the frames made for this box."),
            )


def _outside(whole: CheckContext, belongs: Callable[[Gap], bool], where: str) -> tuple[str, str, str, str] | None:
    """The places where gaps of a kind are outside bee space, the range of these gaps, the limits, and their source."""
    limits, words = whole.limits, whole.wording
    grade = limits.limits.grade
    odd = [(place, gap) for place, gap in _own_ways(whole) if belongs(gap) and not grade(gap.least, gap.most).is_good]
    if not odd:
        return None
    sizes = words.range(size for _, gap in odd for size in (gap.least, gap.most))
    places = "; ".join(dict.fromkeys(place for place, _ in odd))
    return places, f"{sizes} {where}", words.quoted(limits.words), limits.cite


def _measured(whole: CheckContext) -> Iterator[tuple[str, MeasuredHive]]:
    for group in whole.groups:
        yield from ((group.place, hive) for _, hive in group.measured)


def _own_ways(whole: CheckContext) -> list[tuple[str, Gap]]:
    """Bee passages that our items do not change, or that stay too tight although our items lift a part."""
    return [
        (place, gap)
        for place, hive in _measured(whole)
        for gap in hive.gaps
        if gap.kind == "bees' way" and (not gap.own or (gap.lifted_by and gap.least < whole.limits.least))
    ]


def _boxes_on_boxes(whole: CheckContext) -> Iterator[Finding]:
    row = fact("box.overhang_most")
    off = [
        (place, max((abs(by) for _, by in seat.overhangs), default=ZERO))
        for place, hive in _measured(whole)
        for seat in hive.seats
        if not seat.own and (seat.leaks or any(abs(by) > row.length for _, by in seat.overhangs))
    ]
    if not off:
        return
    yield Finding(
        "boxes-do-not-match",
        Severity.NOTE,
        "; ".join(dict.fromkeys(place for place, _ in off)),
        f"the edges of your own boxes are up to {whole.say(max(by for _, by in off))} out of line",
        f"at most {whole.say(row.length)}",
        row.cite,
        "Ledges catch rain and open joints let in wind. Stack boxes of one size, and tape any open joint.",
    )
