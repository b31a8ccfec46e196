"""A part of a plan as a problem of its own: the lengths on some pieces of stock, and the stock that the rest leaves."""

from collections.abc import Sequence
from dataclasses import replace

from woodshop.cutting.lengths.dive import Cuts
from woodshop.cutting.lengths.problem import Cut, Lengths


def part_of(lengths: Lengths, freed: Sequence[Cut], kept: Sequence[Cut]) -> tuple[Lengths, list[int]]:
    """The problem of the lengths that the kept cuts do not make, and the place of each of its lengths in the whole.

    Stock that the kept cuts use up has a limit of 0.
    """
    made = [sum(counts[i] for _, counts in kept) for i in range(len(lengths.sizes))]
    wanted = [max(0, count - have) for count, have in zip(lengths.wanted, made, strict=True)]
    places = [i for i, count in enumerate(wanted) if count]
    used = [sum(stock == j for stock, _ in kept) for j in range(len(lengths.rooms))]
    part = replace(
        lengths,
        sizes=tuple(lengths.sizes[i] for i in places),
        wanted=tuple(wanted[i] for i in places),
        size_of=tuple(lengths.size_of[i] for i in places),
        limits=tuple(None if n is None else n - gone for n, gone in zip(lengths.limits, used, strict=True)),
    )
    return part, places


def in_whole(lengths: Lengths, cuts: Cuts, places: Sequence[int]) -> Cuts:
    """Cuts of a part as cuts of the whole. `places` has the place in the whole of each length of the part."""
    found: Cuts = []
    for (stock, counts), times in cuts:
        whole = [0] * len(lengths.sizes)
        for i, count in zip(places, counts, strict=True):
            whole[i] = count
        found.append(((stock, tuple(whole)), times))
    return found


def joined(cuts: Sequence[Cut], more: Cuts) -> Cuts:
    """All these cuts, equal ones counted as one, in a fixed order."""
    times: dict[Cut, int] = {}
    for cut, count in [*((cut, 1) for cut in cuts), *more]:
        times[cut] = times.get(cut, 0) + count
    return sorted(times.items())
