"""Faults of the boxes and frames that the user has: notes, one of a kind for all hives, with the range measured."""

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
    """What would be so without anything of ours: the gap from box to box, loose frames, boxes that differ."""
    if found := _outside(whole, _is_tier, "from the top bars of one box up to the bottom bars of the next"):
        change = (
            "Bees bridge what is wider with comb, and glue what is narrower. It is the boxes' height against the "
            "frames'; nothing made here changes it."
        )
        yield Finding("gap-between-boxes", Severity.NOTE, *found, change)
    if found := _outside(whole, _is_outer, "beside the outer frames"):
        change = (
            "Push the frames together to the middle, so that both sides share the spare room; or fill it with a "
            "follower board."
        )
        yield Finding("loose-frames", Severity.NOTE, *found, change)
    if found := _outside(whole, _is_within, "between frames, and from them to walls and cover"):
        change = "They are your boxes' and frames' own: the table of gaps says where."
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
    """Hives of which the frames of some boxes were given, and those of others are the table's."""
    for group in whole.groups:
        ware = group.hives.woodenware
        if 0 < len(ware.default_frames) < len(ware.boxes):
            words = [f"box {n + 1}: {whole.say(ware.boxes[n][1].depth)}" for n in ware.default_frames]
            yield Finding(
                "frames-not-measured",
                Severity.WARNING,
                group.place,
                f"frame depths from the table, not measured: {', '.join(words)}",
                "frames measured in every box",
                "the design",
                "Measure a frame of each box, and give all of them, from the ground up: "
                f"frame_depth = [{', '.join(given(frame.depth, whole.unit) for _, frame in ware.boxes)}].",
            )


def _shallow_frames(whole: CheckContext) -> Iterator[Finding]:
    """Frames far too shallow for their box: the user's own, or a default that cannot be meant."""
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
                f"at most {whole.wording.quoted(row.value)} under the frames in their box",
                row.cite,
                "Bees fill the space with comb. Measure a frame of each box and give frame_depth"
                + (", which was taken from the table." if taken else "; or hang the frames that the box is made for."),
            )


def _outside(whole: CheckContext, belongs: Callable[[Gap], bool], where: str) -> tuple[str, str, str, str] | None:
    """Where gaps of a kind lie outside the band, from which size to which, what is wanted, and its source."""
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
    """Bees' ways that are as they would be without our things, or tight though those lift what is over them."""
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
        f"boxes of your own stand up to {whole.say(max(by for _, by in off))} off each other's edges",
        f"at most {whole.say(row.length)}",
        row.cite,
        "Stack like on like, and tape over a joint that stands open.",
    )
