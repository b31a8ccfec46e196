"""The cuts of one layout in sawing order, and its leftovers.

**Order.** Square one end and straighten both edges. Crosscut the board into sections, if there are any. Rip each board
or section, narrow strips first, then the widest first. Then crosscut the pieces, longest first and equal lengths
together; parts that need no cut come before the crosscuts of their length. The far end of a board with end trims is not
squared: the last piece gets its own cut, and the far end falls off behind it.

**Positions.** The saw takes strips off the edge at y = 0 and pieces off the end at x = 0, so their order is also their
position: narrow strips are at that edge, then the others, the widest first, with waste at the far edge. `as_sawn`
arranges a layout this way. Cuts and leftovers are given for this arrangement.

**Settings.** For an ordinary strip, the fence is set to the strip's width, and the strip runs between fence and blade.
For a narrow rip (`rules.narrow_below`), the strip must fall on the far side of the blade from the fence, so that the
hand holds the wide part. The fence is set to the width that remains after the cut, which is a new setting for each
narrow strip. For a crosscut or section, the stop is set to the length cut off. For a trim, the setting is the length or
width cut off, including the kerf.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from woodshop.cutting.checkers.check import Box, Saw, area_of, box_of, span, ways_of
from woodshop.cutting.model.job import Job, Rules, Stock
from woodshop.cutting.model.plan import Layout, Piece, Plan, order_layouts, order_pieces

_MOST_ROUNDS = 10


CutKind = Literal["trim", "section", "rip", "crosscut"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SawCut:
    """Passes of the saw at one setting.

    `kind`: "trim", "section", "rip" or "crosscut". `along`: whether the saw runs along the stock. `of`: the part on the
    saw ("board", "section 1", "strip 2", "section 1 strip 2", "side rough 1" before a final trim). `setting`: fence or
    stop to blade, in the job's unit. `yields`: the parts cut off, in order: labels and blank ids. `count`: passes; one
    fewer than `yields` if the last of these is the part that remains on the saw. `is_narrow`: the strip falls away from
    the fence, and `setting` is the remaining width; `strip` is then the strip's own width. `places`: where each of
    `yields` is on the stock, as x from, x to, y from, y to.
    """

    kind: CutKind
    along: bool
    of: str
    setting: int
    yields: tuple[str, ...]
    count: int
    is_narrow: bool = False
    strip: int = 0
    places: tuple[Box, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Leftover:
    """A rectangle of clean waste, positioned like a piece."""

    x: int
    y: int
    length: int
    width: int


@dataclass(slots=True)
class _Region:
    label: str
    box: Box
    pieces: list[tuple[Box, Piece]]
    way: str


def as_sawn(job: Job, layout: Layout) -> Layout:
    """The layout with the same pieces and strips, in sawing order. Raises ValueError as `saw_cuts` does."""
    for _ in range(_MOST_ROUNDS):
        sawing = _Sawing(job, layout)
        list(sawing.run())
        if len(sawing.placed) != len(layout.pieces):
            raise ValueError(f"a layout with pieces beside its stock {layout.stock!r}; check_plan tells why")
        laid = replace(layout, pieces=order_pieces(sawing.placed))
        if laid == layout:
            return layout
        layout = laid  # strips now side by side may be ripped first, so arrange them by the new cuts
    raise AssertionError("no place for each piece that its cuts keep")


def plan_as_sawn(plan: Plan) -> Plan:
    """The plan with every layout in sawing order. Raises ValueError as `saw_cuts` does."""
    return replace(plan, layouts=order_layouts([as_sawn(plan.job, layout) for layout in plan.layouts]))


def saw_cuts(job: Job, layout: Layout) -> tuple[SawCut, ...]:
    """The cuts of one board of a layout, in sawing order. Raises ValueError for a layout that cannot be sawn."""
    return tuple(_Sawing(job, layout).run())


def leftovers(job: Job, layout: Layout, least_length: int, least_width: int = 1) -> tuple[Leftover, ...]:
    """The clean waste of one board, as rectangles of at least this size, largest first.

    Raises ValueError as `saw_cuts` does.
    """
    return cuts_and_leftovers(job, layout, least_length, least_width)[1]


def cuts_and_leftovers(
    job: Job, layout: Layout, least_length: int, least_width: int = 1
) -> tuple[tuple[SawCut, ...], tuple[Leftover, ...]]:
    """The results of `saw_cuts` and `leftovers` with these minimum sizes, computed together."""
    sawing = _Sawing(job, layout)
    cuts = tuple(sawing.run())
    found = []
    for x0, x1, y0, y1 in sawing.waste:
        edges = [x0]
        for u0, u1 in sawing.stock.unusable:
            if x0 < u1 and u0 < x1:
                edges += [u0, u1]
        edges.append(x1)
        for left, right in zip(edges[::2], edges[1::2], strict=True):
            if right - left >= least_length and y1 - y0 >= least_width:
                found.append(Leftover(left, y0, right - left, y1 - y0))
    return cuts, tuple(sorted(found, key=lambda r: (-r.length * r.width, r.x, r.y)))


class _Sawing:
    def __init__(self, job: Job, layout: Layout) -> None:
        self.job, self.layout = job, layout
        self.stock: Stock = next(stock for stock in job.stock if stock.id == layout.stock)
        self.area = area_of(self.stock)
        self.waste: list[Box] = []
        self.placed: list[Piece] = []
        self.labels: dict[str, int] = {}
        self.is_far_end_raw = self.stock.end_trim > 0

    def run(self) -> Iterator[SawCut]:
        pieces = [(box_of(piece), piece) for piece in self.layout.pieces]
        boxes = [box for box, _ in pieces]
        saw, way = self._way(boxes)
        self.saw = saw
        yield from self._trims()
        board = _Region("board", self.area, pieces, way)
        regions = [board]
        if way == "xyx":
            regions = []
            sections = saw.sections(boxes, self.area) or []
            if len(sections) == 1 and sections[0][:2] == self.area[:2]:
                regions = [_Region("board", self.area, pieces, "yx")]
            else:
                spans = [(begin, end) for begin, end, _ in sections]
                regions = self._parts(board, spans, "section", "yx")
                yield from self._crosscuts(board, regions, "section")
                self.is_far_end_raw = False
        rest: list[list[SawCut]] = []
        for region in regions:
            if region.way.startswith("y"):
                strips = self._strips(region)
                yield from self._rips(region, strips)
                rest += [list(self._cut_on(strip)) for strip in strips]
            else:
                rest.append(list(self._cut_on(region)))
        yield from _longest_first(rest)

    def _way(self, boxes: list[Box]) -> tuple[Saw, str]:
        for rules in (self.job.rules, Rules()):
            saw = Saw(self.job, rules, self.stock if rules is self.job.rules else replace(self.stock, rip=True))
            for way in ways_of(self.job, self.layout, self.area):
                if saw.can_cut(boxes, self.area, way):
                    return saw, way
        raise ValueError(f"a layout on {self.stock.id!r} that cannot be sawn; check_plan tells why")

    def _trims(self) -> Iterator[SawCut]:
        end, edge = self.stock.end_trim, self.stock.edge_trim
        long, wide = self.stock.length, self.stock.width or 0
        if end:
            yield _trim("board", ((0, end, 0, wide),), ("end",))
        if edge:
            x0, x1 = end, long - end
            yield _trim("board", ((x0, x1, 0, edge), (x0, x1, wide - edge, wide)), ("edge", "edge"), along=True)

    def _parts(self, region: _Region, spans: list[tuple[int, int]], noun: str, way: str) -> list[_Region]:
        """The parts of a region to be crosscut, each with the pieces that begin in it."""
        y0, y1 = region.box[2:]
        inside = _dealt([(box, piece) for box, piece in region.pieces if y0 <= box[2] < y1], spans, 0)
        return [self._region(region, (*each, y0, y1), own, noun, way) for each, own in zip(spans, inside, strict=True)]

    def _region(self, region: _Region, box: Box, inside: list[tuple[Box, Piece]], noun: str, way: str) -> _Region:
        if len(way) == 0:
            (own, piece) = inside[0]
            if own == box:
                return _Region(piece.id, box, inside, way)
            noun = f"{piece.id} rough"
            self.labels[noun] = self.labels.get(noun, 0) + 1
            return _Region(f"{noun} {self.labels[noun]}", box, inside, way)
        stem = noun if region.label == "board" else f"{region.label} {noun}"
        self.labels[stem] = self.labels.get(stem, 0) + 1
        return _Region(f"{stem} {self.labels[stem]}", box, inside, way)

    def _strips(self, region: _Region) -> list[_Region]:
        """The strips of a region in ripping order, side by side from its near edge."""
        x0, x1, y0, y1 = region.box
        below = self.job.rules.narrow_below or 0
        boxes = [box for box, _ in region.pieces]
        spans = [span(group, "y") for group in self.saw.groups(boxes, "y")]
        if region.way == "yx" and self.saw.is_left_whole(boxes, region.box):
            spans = [(y0, y1)]
        groups = [
            (high - low >= below, low - high, low, high, own)
            for (low, high), own in zip(spans, _dealt(region.pieces, spans, 2), strict=True)
        ]
        strips = []
        free = y0
        for _, _, low, high, own in sorted(groups, key=lambda group: group[:4]):
            inside = [((b[0], b[1], b[2] - low + free, b[3] - low + free), piece) for b, piece in own]
            box = (x0, x1, free, free + high - low)
            strips.append(self._region(region, box, inside, "strip", region.way[1:]))
            free = box[3] + self.saw.kerf["y"]
        self._waste((x0, x1, free, y1))
        return strips

    def _rips(self, region: _Region, strips: list[_Region]) -> Iterator[SawCut]:
        kerf = self.saw.kerf["y"]
        left = region.box[3] - region.box[2]
        if len(strips) == 1 and _width(strips[0]) == left:
            if strips[0].way:
                strips[0].label = region.label
            else:
                yield SawCut(
                    kind="rip",
                    along=True,
                    of=region.label,
                    setting=left,
                    yields=(strips[0].label,),
                    count=0,
                    places=(strips[0].box,),
                )
            return
        below = self.job.rules.narrow_below or 0
        for strip in [s for s in strips if _width(s) < below]:
            left -= _width(strip) + kerf
            yield SawCut(
                kind="rip",
                along=True,
                of=region.label,
                setting=left,
                yields=(strip.label,),
                count=1,
                is_narrow=True,
                strip=_width(strip),
                places=(strip.box,),
            )
        wide = [s for s in strips if _width(s) >= below]
        while wide:
            width = _width(wide[0])
            same = [s for s in wide if _width(s) == width]
            wide = wide[len(same) :]
            passes = len(same)
            left -= passes * (width + kerf)
            if not wide and left == -kerf:
                passes -= 1
            yield SawCut(
                kind="rip",
                along=True,
                of=region.label,
                setting=width,
                yields=tuple(s.label for s in same),
                count=passes,
                places=tuple(s.box for s in same),
            )

    def _cut_on(self, region: _Region) -> Iterator[SawCut]:
        """All cuts after the first rips: crosscuts to pieces or blocks, rips of blocks, final trims."""
        if not region.way:
            yield from self._final(region)
            return
        if region.way.startswith("y"):
            strips = self._strips(region)
            yield from self._rips(region, strips)
            for strip in strips:
                yield from self._cut_on(strip)
            return
        noun = "section" if region.way == "xy" else "block"
        spans = [span(group, "x") for group in self.saw.groups([box for box, _ in region.pieces], "x")]
        parts = self._parts(region, spans, noun, region.way[1:])
        yield from self._crosscuts(region, parts, "crosscut")
        for part in parts:
            yield from self._cut_on(part)

    def _crosscuts(self, region: _Region, parts: list[_Region], kind: CutKind) -> Iterator[SawCut]:
        """The crosscuts of a region, starting at the left end; neighbors of the same length share one setting."""
        kerf = self.saw.kerf["x"]
        free, end = region.box[0], region.box[1]
        is_raw = self.is_far_end_raw and end == self.area[1]
        run: list[_Region] = []

        def passes(last: bool) -> SawCut:
            length = run[0].box[1] - run[0].box[0]
            count = len(run) - (1 if last and run[-1].box[1] == end and not is_raw else 0)
            return SawCut(
                kind=kind,
                along=False,
                of=region.label,
                setting=length,
                yields=tuple(part.label for part in run),
                count=count,
                places=tuple(part.box for part in run),
            )

        for part in parts:
            x0, x1 = part.box[:2]
            if run and (x0 > free or x1 - x0 != run[0].box[1] - run[0].box[0]):
                yield passes(False)
                run = []
            if x0 > free:
                self._waste((free, x0 - kerf, *region.box[2:]))
                yield _trim(region.label, ((free, x0, *region.box[2:]),))
            run.append(part)
            free = x1 + kerf
        if run:
            yield passes(True)
        self._waste((free, end, *region.box[2:]))

    def _final(self, region: _Region) -> Iterator[SawCut]:
        """The cuts that trim a piece inside its strip or section, if the job allows it."""
        (box, piece) = region.pieces[0]
        x0, x1, y0, y1 = region.box
        length, width = box[1] - box[0], box[3] - box[2]
        at = box[0] if any(x0 < u1 and u0 < x0 + length for u0, u1 in self.stock.unusable) else x0
        is_there = piece.y is None or (piece.x, piece.y) == (at, y0)
        self.placed.append(piece if is_there else replace(piece, x=at, y=y0))
        own = (at, at + length, y0, y0 + width)
        if width < y1 - y0:
            self._waste((x0, x1, y0 + width + self.saw.kerf["y"], y1))
            yield _last("rip", region.label, width, piece.id, own)
        if at > x0:
            self._waste((x0, at - self.saw.kerf["x"], y0, y0 + width))
            yield _trim(region.label, ((x0, at, y0, y0 + width),))
        if at + length < x1:
            self._waste((at + length + self.saw.kerf["x"], x1, y0, y0 + width))
            yield _last("crosscut", region.label, length, piece.id, own)

    def _waste(self, box: Box) -> None:
        if box[0] < box[1] and box[2] < box[3]:
            self.waste.append(box)


def _trim(of: str, places: tuple[Box, ...], yields: tuple[str, ...] = ("waste",), *, along: bool = False) -> SawCut:
    """A cut that trims an end or an edge, or cuts up to a defect, kerf included."""
    x0, x1, y0, y1 = places[0]
    taken = y1 - y0 if along else x1 - x0
    return SawCut(kind="trim", along=along, of=of, setting=taken, yields=yields, count=len(yields), places=places)


def _last(kind: CutKind, of: str, setting: int, name: str, place: Box) -> SawCut:
    """The final cut that trims a rough piece to size."""
    along = kind == "rip"
    return SawCut(kind=kind, along=along, of=of, setting=setting, yields=(name,), count=1, places=(place,))


def _dealt(pieces: list[tuple[Box, Piece]], spans: list[tuple[int, int]], low: int) -> list[list[tuple[Box, Piece]]]:
    """The pieces that begin in each of the ascending, disjoint `spans`. `low` is the index of a box's start."""
    begins = [begin for begin, _ in spans]
    found: list[list[tuple[Box, Piece]]] = [[] for _ in spans]
    for each in pieces:
        n = bisect_right(begins, each[0][low]) - 1
        if n >= 0 and each[0][low] < spans[n][1]:
            found[n].append(each)
    return found


def _width(region: _Region) -> int:
    return region.box[3] - region.box[2]


def _longest_first(lists: list[list[SawCut]]) -> Iterator[SawCut]:
    """All cuts, merged: each list keeps its order; the largest setting comes first, after parts without a cut."""
    heads = [0] * len(lists)
    while True:
        ready = [n for n, cuts in enumerate(lists) if heads[n] < len(cuts)]
        if not ready:
            return
        n = min(
            ready,
            key=lambda n: (
                lists[n][heads[n]].kind != "trim",
                -lists[n][heads[n]].setting,
                lists[n][heads[n]].count > 0,
                n,
            ),
        )
        yield lists[n][heads[n]]
        heads[n] += 1


Size = tuple[int, int]
"""Length and width in the job's unit, length along the stock."""


def sizes_on_the_saw(stock: Stock, cuts: Sequence[SawCut]) -> tuple[Size, ...]:
    """For each cut, the size of the part when it first comes to the saw, which is its largest size.

    `cuts` are the cuts of one board of that stock, in order (`sequence.saw_cuts`).
    """
    whole = (stock.length, stock.width or 0)
    parts: dict[str, Size] = {}
    found: list[Size] = []
    for cut in cuts:
        length, width = parts.get(cut.of, whole)
        found.append((length, width))
        if cut.kind == "trim":
            continue
        made = (length, cut.strip if cut.is_narrow else cut.setting) if cut.along else (cut.setting, width)
        parts.update(dict.fromkeys(cut.yields, made))
    return tuple(found)
