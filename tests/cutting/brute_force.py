"""What small jobs cost at least, and what their boards can be worth at most, by trying everything.

Pieces are parted into parts and those into parts again, in every way; positions are not looked at, but that of
the stretches between what is unusable. Nothing here was made with the planner, the check or the proof in sight.
"""

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from itertools import product
from typing import Any

Laid = tuple[int, int]
"""Length and width of a piece as laid."""
Group = tuple[Laid, ...]
GREAT = 10**9


def least_cost(job: Mapping[str, Any]) -> int | None:
    """The optimum; None when the job cannot be done."""
    want = tuple(blank["count"] for blank in job["blanks"])
    loads = [
        (number, stock["cost"], load)
        for number, stock in enumerate(job["stock"])
        for load in product(*(range(count + 1) for count in want))
        if any(load) and fits(job, stock, load)
    ]

    @cache
    def cover(need: tuple[int, ...], left: tuple[int, ...]) -> int:
        if not any(need):
            return 0
        best = GREAT
        for number, cost, load in loads:
            if left[number] and all(a <= b for a, b in zip(load, need, strict=True)):
                rest = tuple(b - a for a, b in zip(load, need, strict=True))
                best = min(best, cost + cover(rest, tuple(n - (k == number) for k, n in enumerate(left))))
        return best

    most = sum(want)
    answer = cover(want, tuple(min(most, stock.get("count", most)) for stock in job["stock"]))
    return None if answer >= GREAT else answer


def dearest(job: Mapping[str, Any], stock: Mapping[str, Any], prices: Mapping[str, int]) -> int:
    """The greatest worth of what fits one board, no blank oftener than wanted."""
    own = [prices.get(blank["id"], 0) for blank in job["blanks"]]
    loads = product(*(range(blank["count"] + 1) for blank in job["blanks"]))
    worths = ((sum(n * p for n, p in zip(load, own, strict=True)), load) for load in loads)
    return next((worth for worth, load in sorted(worths, reverse=True) if not worth or fits(job, stock, load)), 0)


def fits(job: Mapping[str, Any], stock: Mapping[str, Any], load: tuple[int, ...]) -> bool:
    """Whether so many of each blank can be cut from one board."""
    pieces = [blank for blank, n in zip(job["blanks"], load, strict=True) for _ in range(n)]
    ways = [{(p["length"], p.get("width", 1))} for p in pieces]
    for sides, piece in zip(ways, pieces, strict=True):
        if piece.get("rotate"):
            sides |= {(width, length) for length, width in sides}
    board = _Board(job, stock)
    return any(board.yields(group) for group in {tuple(sorted(laid)) for laid in product(*ways)})


class _Board:
    def __init__(self, job: Mapping[str, Any], stock: Mapping[str, Any]) -> None:
        self.kx, self.ky = job["kerf"]["crosscut"], job["kerf"]["rip"]
        self.rules = {key: n for key, n in job.get("rules", {}).items() if key not in ("surplus", "defects")}
        self.cut_out = "defects" in job.get("rules", {}) and bool(stock.get("unusable"))
        self.may = stock.get("rip", True)
        cutting = job.get("cutting", {"stages": 2, "first": "along"})
        self.stages, self.first, self.trim = cutting["stages"], cutting["first"], cutting.get("final_trim", False)
        end = stock.get("end_trim", 0)
        self.length = stock["length"] - 2 * end
        self.width = stock.get("width", 1) - 2 * stock.get("edge_trim", 0)
        good = list(range(end, stock["length"] - end))
        good = [x for x in good if not any(u0 <= x < u1 for u0, u1 in stock.get("unusable", []))]
        starts = [x for x in good if x - 1 not in good]
        self.stretches = [(x, next(n for n in range(x, stock["length"] + 1) if n not in good)) for x in starts]

    def yields(self, laid: Group) -> bool:
        if sum(length * width for length, width in laid) > self.length * self.width:
            return False
        along, across = self.first != "across", self.first != "along"
        ways: list[Callable[[Group], bool]] = []
        if along:
            ways.append(self.in_strips)
            if self.length > self.rules.get("longest_rip", GREAT) or self.cut_out:
                ways.append(lambda group: self.in_sections(group, self.ripped_and_crosscut))
        if across:
            ways.append(lambda group: self.in_sections(group, self.ripped))
        if self.stages == 3 and across:
            ways.append(lambda group: self.in_sections(group, self.ripped_and_crosscut))
        if self.stages == 3 and along:
            ways.append(self.in_panels)
        return any(way(laid) for way in ways)

    # -- rules ----------------------------------------------------------------------------------------------

    def may_rip(self, width: int, length: int) -> bool:
        rules = self.rules
        return (
            self.may
            and width >= rules.get("least_strip", 0)
            and (rules.get("shortest_rip", 0) <= length <= rules.get("longest_rip", GREAT))
        )

    def rips(self, widths: list[int], width: int, length: int) -> bool:
        """Whether strips so wide can and may be ripped from something so wide and long."""
        if widths == [width]:
            return True
        room = -self.rules.get("least_remainder", -self.ky)
        if sum(widths) + self.ky * len(widths) > width + room or not all(self.may_rip(w, length) for w in widths):
            return False
        thin = [w for w in widths if w < self.rules.get("narrow_below", 0)]
        return not thin or width - sum(w + self.ky for w in thin) >= self.rules["parent_wood"]

    def is_strip(self, group: Group) -> bool:
        """Whether pieces can come out of one strip as wide as the widest."""
        strip = max(width for _, width in group)
        return all(
            width == strip or (self.trim and self.may_rip(width, length) and width >= self.rules.get("narrow_below", 0))
            for length, width in group
        )

    # -- ways -----------------------------------------------------------------------------------------------

    def in_line(self, lengths: tuple[int, ...]) -> bool:
        """Whether so long things go into the stretches, a kerf between neighbours."""

        def put(q: int, free: int, left: tuple[int, ...]) -> bool:
            if not left:
                return True
            if q == len(self.stretches):
                return False
            start, end = self.stretches[q]
            start = max(start, free)
            for mask in range(2 ** len(left)):
                inside = [n for bit, n in enumerate(left) if mask >> bit & 1]
                rest = tuple(n for bit, n in enumerate(left) if not mask >> bit & 1)
                stop = start + sum(n + self.kx for n in inside)
                if (not inside or stop - self.kx <= end) and put(q + 1, stop if inside else free, rest):
                    return True
            return False

        return put(0, 0, lengths)

    def in_strips(self, laid: Group) -> bool:
        return any(
            all(self.is_strip(strip) for strip in strips)
            and (not self.cut_out or max(width for _, width in laid) == self.width)
            and self.rips([max(width for _, width in strip) for strip in strips], self.width, self.length)
            and all(self.in_line(tuple(length for length, _ in strip)) for strip in strips)
            for strips in partitions(laid)
        )

    def in_sections(self, laid: Group, shortest: Callable[[Group], int]) -> bool:
        return any(self.in_line(tuple(shortest(section) for section in sections)) for sections in partitions(laid))

    def ripped(self, section: Group) -> int:
        """The length of a section whose pieces only need ripping, or a great one."""
        length = max(n for n, _ in section)
        if not self.trim and min(n for n, _ in section) < length:
            return GREAT
        return length if self.rips([width for _, width in section], self.width, length) else GREAT

    def ripped_and_crosscut(self, section: Group) -> int:
        """The least length of a section that is ripped to strips, each then crosscut, or a great one."""
        best = GREAT
        for strips in partitions(section):
            if not all(self.is_strip(strip) for strip in strips):
                continue
            need = max(sum(length + self.kx for length, _ in strip) - self.kx for strip in strips)
            if "least_remainder" in self.rules and section != ((need, self.width),):
                need += self.kx + self.rules["least_remainder"]
            widths = [max(width for _, width in strip) for strip in strips]
            for length in (need, max(need, self.rules.get("shortest_rip", 0))):
                if length < best and self.rips(widths, self.width, length):
                    best = length
        return best

    def in_panels(self, laid: Group) -> bool:
        """Panels ripped, crosscut to blocks, the blocks ripped."""
        for panels in partitions(laid):
            for parting in product(*(tuple(self.blocks(panel)) for panel in panels)):
                widths = [max(self.across(block) for block in blocks) for blocks in parting]
                if (
                    self.rips(widths, self.width, self.length)
                    and all(
                        self.rips([w for _, w in block], width, max(n for n, _ in block))
                        for width, blocks in zip(widths, parting, strict=True)
                        for block in blocks
                    )
                    and all(self.in_line(tuple(max(n for n, _ in block) for block in blocks)) for blocks in parting)
                ):
                    return True
        return False

    def across(self, block: Group) -> int:
        return sum(width + self.ky for _, width in block) - self.ky

    def blocks(self, panel: Group) -> Iterator[tuple[Group, ...]]:
        for blocks in partitions(panel):
            even = all(len({n for n, _ in block}) == 1 for block in blocks)
            if (even or self.trim) and all(self.across(block) <= self.width for block in blocks):
                yield blocks


@cache
def partitions(things: Group) -> tuple[tuple[Group, ...], ...]:
    """Every way to part things into groups, equal ways once."""
    if not things:
        return ((),)
    head, rest = things[:1], things[1:]
    found: dict[tuple[Group, ...], None] = {}
    for part in partitions(rest):
        for n in range(-1, len(part)):
            groups = (head, *part) if n < 0 else (*part[:n], tuple(sorted(head + part[n])), *part[n + 1 :])
            found[tuple(sorted(groups))] = None
    return tuple(found)
