"""Plans under the saw's rules against brute force that reads the rules anew."""

import random
from functools import cache
from itertools import product

import pytest

from woodshop.cutting.job import Job, Stock, read_job
from woodshop.cutting.planner import plan
from woodshop.errors import NothingToCutError

Laid = tuple[int, int]


def partitions(things: tuple[Laid, ...]) -> list[list[tuple[Laid, ...]]]:
    if not things:
        return [[]]
    out = []
    for part in partitions(things[1:]):
        out.append([(things[0],), *part])
        out += [[*part[:n], (things[0], *part[n]), *part[n + 1 :]] for n in range(len(part))]
    return out


def rips_ok(job: Job, widths: list[int], across: int, along: int) -> bool:
    """Whether strips so wide may be ripped from a region so long and wide."""
    rules, kerf = job.rules, job.kerf.rip
    if widths == [across]:
        return True
    if sum(widths) + kerf * (len(widths) - 1) > across:
        return False
    if along < (rules.shortest_rip or 0) or along > (rules.longest_rip or 10**9):
        return False
    if any(width >= across or width < (rules.least_strip or 0) for width in widths):
        return False
    narrow = [width for width in widths if width < (rules.narrow_below or 0)]
    return not narrow or across - sum(width + kerf for width in narrow) >= (rules.parent_wood or 0)


def fits(job: Job, stock: Stock, pieces: tuple[Laid, ...]) -> bool:
    along, across, kx = stock.length, stock.width or 1, job.kerf.crosscut
    longest = job.rules.longest_rip or 10**9

    def strips(region: tuple[Laid, ...]) -> list[tuple[list[int], int]]:
        """Ways to make strips: their widths, and the length that they need."""
        ways = []
        for part in partitions(region):
            if all(len({width for _, width in strip}) == 1 for strip in part):
                need = max(sum(length + kx for length, _ in strip) - kx for strip in part)
                ways.append(([strip[0][1] for strip in part], need))
        return ways

    def section(region: tuple[Laid, ...]) -> int:
        """The least length of a section that yields these pieces, or a great one."""
        best = 10**9
        for widths, need in strips(region):
            for length in {need, max(need, job.rules.shortest_rip or 0)}:
                if rips_ok(job, widths, across, length):
                    best = min(best, length)
        return best

    first, stages = job.cutting.first, job.cutting.stages
    if (first != "across" or stages == 3) and any(
        need <= along and rips_ok(job, widths, across, along) for widths, need in strips(pieces)
    ):
        return True
    if first != "along":
        for part in partitions(pieces):
            if (
                all(len({n for n, _ in sec}) == 1 for sec in part)
                and all(rips_ok(job, [w for _, w in sec], across, sec[0][0]) for sec in part)
                and sum(sec[0][0] + kx for sec in part) <= along + kx
            ):
                return True
    sections = (first == "across" and stages == 3) or (first != "across" and along > longest)
    return sections and any(sum(section(sec) + kx for sec in part) <= along + kx for part in partitions(pieces))


def least_cost(job: Job) -> int | None:
    want = tuple(blank.count for blank in job.blanks)
    loads = []
    for number, stock in enumerate(job.stock):
        for load in product(*(range(count + 1) for count in want)):
            pieces = tuple((b.length, b.width or 1) for b, n in zip(job.blanks, load, strict=True) for _ in range(n))
            if pieces and fits(job, stock, pieces):
                loads.append((number, stock.cost, load))

    @cache
    def cover(need: tuple[int, ...], left: tuple[int, ...]) -> float:
        if not any(need):
            return 0
        best = float("inf")
        for number, cost, load in loads:
            if left[number] and all(a <= b for a, b in zip(load, need, strict=True)):
                rest = tuple(b - a for a, b in zip(load, need, strict=True))
                best = min(best, cost + cover(rest, tuple(n - (k == number) for k, n in enumerate(left))))
        return best

    answer = cover(want, tuple(min(sum(want), stock.count or 99) for stock in job.stock))
    return None if answer == float("inf") else int(answer)


def ruled_job(seed: int) -> Job:
    rng = random.Random(seed)
    width = rng.randint(6, 12)
    stock = [
        {
            "id": f"s{n}",
            "length": rng.randint(12, 30),
            "width": width + n * rng.randint(0, 3),
            "cost": rng.randint(4, 12),
        }
        for n in range(rng.randint(1, 2))
    ]
    if rng.random() < 0.4:
        stock[0]["count"] = 1
    blanks, left = [], 5
    for n in range(rng.randint(1, 3)):
        count = rng.randint(1, min(3, left))
        left -= count
        wide = width if rng.random() < 0.2 else rng.randint(2, 6)
        blanks.append({"id": f"b{n}", "length": rng.randint(3, 12), "width": wide, "count": count})
        if not left:
            break
    rules: dict[str, object] = {}
    if rng.random() < 0.5:
        rules |= {"narrow_below": rng.randint(2, 5), "parent_wood": rng.randint(1, 6)}
    if rng.random() < 0.3:
        rules["least_strip"] = rng.randint(2, 3)
    if rng.random() < 0.4:
        rules["shortest_rip"] = rng.randint(6, 14)
    if rng.random() < 0.6:
        rules["longest_rip"] = rng.randint(14, 24)
    first, stages = rng.choice([("along", 2), ("across", 2), ("either", 2), ("across", 3)])
    kerf = rng.randint(0, 2)
    return read_job(
        {
            "format": "woodshop-job/1",
            "unit": "1",
            "money": "c",
            "kerf": {"rip": kerf, "crosscut": rng.randint(0, 2)},
            "cutting": {"stages": stages, "first": first},
            "rules": rules,
            "stock": stock,
            "blanks": blanks,
        }
    )


@pytest.mark.invariant
def test_small_jobs_under_rules_cost_what_brute_force_says() -> None:
    planned = refused = 0
    for seed in range(250):
        job = ruled_job(seed)
        best = least_cost(job)
        try:
            made = plan(job)
        except NothingToCutError:
            assert best is None, (seed, best)
            refused += 1
            continue
        assert made.cost == best, (seed, job)
        assert made.assurance in ("proved", "closed"), seed
        planned += 1
    assert planned > 100
    assert refused > 10
