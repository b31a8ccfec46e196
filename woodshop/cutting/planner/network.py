"""Models every way to cut a job's stock: regions, and the knapsacks that describe how each region can be cut.

A region is stock, a strip, a section or a size to be made. A knapsack turns one region into several smaller ones: stock
into strips, or a strip into pieces. A plan is a choice of patterns in which every region that is used is also made, and
every size is made often enough.

Families of cuts, for each stock kind (the first cut named first):

* rip, crosscut; and crosscut, rip: two stages.
* crosscut to sections, rip, crosscut; and rip, crosscut, rip: three stages.
* crosscut to sections first, even in a two-stage job, where `longest_rip` requires it.

A section need not be longer than the fullest of its strips, and a panel need not be wider than the fullest of its
blocks. Candidate extents are therefore sums of lengths that fit in one strip, or of widths that fit in one block.
Blanks as wide as a section are crosscut directly from the usable stretch. If there are very many candidate extents,
only some are tried; `complete` is then false, and these knapsacks do not give a bound.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import KW_ONLY, dataclass, replace
from itertools import pairwise

from woodshop.cutting.model.job import Blank, Job, Rules, Stock
from woodshop.cutting.planner.knapsack import (
    Key,
    Knapsack,
    KnapsackItem,
    SameBlanks,
    lays_of,
    maximal_patterns,
    spread_of,
    sums_of,
    widths_in_block,
)

MOST_SECTION_LENGTHS = 1200
_FEW_RIPS = 12


@dataclass(frozen=True, slots=True)
class StockBoard:
    """A kind of stock at the saw: its usable stretches (start, extent) along its length, and its usable width.

    `is_ripped`: it can be ripped. `is_in_sections`: it must be crosscut into sections before any rip.
    """

    segments: tuple[tuple[int, int], ...]
    length: int
    _: KW_ONLY
    y0: int
    width: int
    is_ripped: bool = True
    is_in_sections: bool = False


@dataclass(frozen=True, slots=True)
class Network:
    """The sizes, the boards (one per stock kind) and every knapsack.

    Each region comes after the regions it is cut from.
    """

    sizes: tuple[SameBlanks, ...]
    boards: tuple[StockBoard, ...]
    knapsacks: tuple[Knapsack, ...]
    complete: bool


def width_of(thing: Stock | Blank) -> int:
    """The width; 1 in a one-dimensional job, which has one strip per board."""
    return 1 if thing.width is None else thing.width


def board_of(job: Job, stock: Stock) -> StockBoard:
    """The usable part of a stock kind.

    If an unusable stretch is narrower than the kerf, its far side is moved to widen it.
    """
    start, end = stock.end_trim, stock.length - stock.end_trim
    segments: list[tuple[int, int]] = []
    x = start
    for x0, x1 in stock.unusable:
        if x0 > x:
            segments.append((x, min(x0, end) - x))
        x = max(x, x1 if x0 <= start else max(x1, x0 + job.kerf.crosscut))
    if x < end:
        segments.append((x, end - x))
    segments = [(x, extent) for x, extent in segments if extent > 0]
    rules, length = job.rules, end - start
    cut_up = (rules.longest_rip is not None and length > rules.longest_rip) or (
        rules.defects == "cut_out" and bool(stock.unusable)
    )
    width = width_of(stock) - 2 * stock.edge_trim
    return StockBoard(
        tuple(segments), length, y0=stock.edge_trim, width=width, is_ripped=stock.rip, is_in_sections=cut_up
    )


def rip_room(job: Job) -> int:
    """How much the total width of a region's strips, each with its rip kerf, can exceed the region's width.

    The excess is a rip kerf, because the last strip can end at the edge. With `least_remainder` it is negative.
    """
    least = job.rules.least_remainder
    return job.kerf.rip if least is None or not job.is_flat else -least


def sizes_of(job: Job) -> tuple[SameBlanks, ...]:
    """The blanks of a job, with blanks of the same size combined."""
    groups: dict[tuple[int, int, bool], list[tuple[str, int]]] = {}
    for blank in job.blanks:
        length, width = blank.length, width_of(blank)
        rotate = blank.rotate and length != width
        if rotate and length < width:
            length, width = width, length
        groups.setdefault((length, width, rotate), []).append((blank.id, blank.count))
    return tuple(
        SameBlanks(length, width, sum(count for _, count in ids), rotate, tuple(ids))
        for (length, width, rotate), ids in groups.items()
    )


def may_rip(rules: Rules, width: int, length: int) -> bool:
    """Whether a strip of this width can be ripped from a board of this length, apart from the parent-wood rule."""
    return (
        width >= (rules.least_strip or 0)
        and length >= (rules.shortest_rip or 0)
        and (rules.longest_rip is None or length <= rules.longest_rip)
    )


def build_network(job: Job, most_sections: int = MOST_SECTION_LENGTHS, only: frozenset[int] | None = None) -> Network:
    """Every knapsack of the job that yields something.

    At most `most_sections` section lengths are used, or `only` these if they occur.
    """
    return _Builder(job, most_sections, only).build()


class _Builder:
    def __init__(self, job: Job, most_sections: int, only: frozenset[int] | None) -> None:
        self.job = job
        self.only = only
        self.most_sections = most_sections
        self.rules = job.rules
        self.trim = job.cutting.final_trim
        self.kx, self.ky = job.kerf.crosscut, job.kerf.rip
        self.rip_room = rip_room(job)
        least = job.rules.least_remainder
        self.spare = None if least is None else self.kx + least  # a ripped section is this much longer than its pieces
        self.sizes = sizes_of(job)
        self.boards = tuple(board_of(job, stock) for stock in job.stock)
        self.complete = True
        self.made: dict[Key, bool] = {}
        self.in_strip: dict[int, tuple[KnapsackItem, ...]] = {}
        self.parts: dict[Key, list[Key]] = {}
        self.out: list[Knapsack] = []
        lays = {(length, width) for size in self.sizes for length, width, _ in lays_of(size)}
        self.lengths = sorted({length for length, _ in lays}, reverse=True)
        self.widths = sorted({width for _, width in lays}, reverse=True)

    def build(self) -> Network:
        rules = self.rules
        ruled = any((rules.parent_wood, rules.least_strip, rules.shortest_rip, rules.longest_rip))
        ruled = ruled or rules.least_remainder is not None
        if ruled and (self.trim or (self.job.cutting.stages == 3 and self.job.cutting.first != "across")):
            self.complete = False  # strips made wider than their pieces only because of a rule are not tried
        if any(x1 - x0 < self.kx for stock in self.job.stock for x0, x1 in stock.unusable):
            self.complete = False  # layouts that use the width added to an unusable stretch are not tried
        for j, board in enumerate(self.boards):
            for family in self._families(board):
                getattr(self, family)(("stock", j), board)
        self._shorten()
        # Children were finished before their parents, so in reverse each region comes after the regions it is cut from.
        return Network(self.sizes, self.boards, tuple(reversed(self.out)), self.complete)

    def _shorten(self) -> None:
        """If sections give strips of many lengths, allows each to be shortened to the next length."""
        if not self.parts:
            return
        lengths: dict[int, list[int]] = {}
        for key, is_made in self.made.items():
            if key[0] == "strip" and is_made:
                lengths.setdefault(int(key[2]), []).append(int(key[1]))
        for width, extents in sorted(lengths.items()):
            extents.sort()
            for low, high in pairwise(extents):
                item = KnapsackItem(low, low + self.kx, 1, yields=(("strip", low, width),))
                self._add(Knapsack(("strip", high, width), "shorten", high + self.kx, (item,)))

    def _families(self, board: StockBoard) -> Iterator[str]:
        cutting = self.job.cutting
        if not self.job.is_flat:
            yield "_rip_first"
            return
        along, across = cutting.first in ("along", "either"), cutting.first in ("across", "either")
        if not board.is_ripped:
            yield "_rip_first" if along else "_unripped_first"
            return
        cut_up = board.is_in_sections
        # If a board can be crosscut first, an uncut board counts as one section.
        if (along and cutting.stages == 2 and not cut_up) or (
            across and cutting.stages == 3 and len(board.segments) > 1 and self.rules.defects is None
        ):
            yield "_rip_first"
        if across and cutting.stages == 2:
            yield "_section_first"
        if (across and cutting.stages == 3) or (along and cut_up):
            yield "_section_rip_crosscut"
        if along and cutting.stages == 3 and not (board.is_in_sections and self.rules.defects is not None):
            yield "_rip_crosscut_rip"

    # -- stage one ------------------------------------------------------------------------------------------

    def _rip_first(self, of: Key, board: StockBoard) -> bool:
        """Rips the whole board into strips that are crosscut; each strip has all usable stretches of the board."""

        def strips(width: int) -> tuple[Key, ...]:
            return tuple(("strip", extent, width) for _, extent in board.segments if self._strip(extent, width))

        extents = [extent for _, extent in board.segments]
        widths = self.widths if board.is_ripped else [board.width]
        return self._rips(of, board.width, board.length, extents, strips, widths)

    def _section_first(self, of: Key, board: StockBoard) -> bool:
        return self._open(of, board, "crosscut", self._crosscuts_to_sections)

    def _unripped_first(self, of: Key, board: StockBoard) -> bool:
        return self._open(of, board, "unripped", self._crosscuts_unripped)

    def _section_rip_crosscut(self, of: Key, board: StockBoard) -> bool:
        if len(board.segments) > 1 and self.rules.defects is None:
            self.complete = False  # sections across an unusable stretch are not tried
        return self._open(of, board, "sections", self._sections)

    def _rip_crosscut_rip(self, of: Key, board: StockBoard) -> bool:
        """Rips panels, crosscuts each into blocks, and rips each block; a panel that is not ripped again is a strip."""
        blocks = [widths_in_block(self.sizes, length, trim=self.trim) for length in self.lengths]
        panels = self._extents(blocks, board.width, self.ky, board.width, self.widths)
        if board.width not in panels:
            panels = [board.width, *panels]

        def yields(width: int) -> tuple[Key, ...]:
            keys = [self._panel(extent, width) for _, extent in board.segments]
            return tuple(key for key in keys if key is not None)

        extents = [extent for _, extent in board.segments]
        return self._rips(of, board.width, board.length, extents, yields, panels)

    def _open(self, of: Key, board: StockBoard, name: str, make: Callable[[Key, int, int], bool]) -> bool:
        """Divides the board at its unusable stretches, so that each usable stretch is a region of its own."""
        yields = []
        for _, extent in board.segments:
            key: Key = (name, extent, board.width)
            if key not in self.made:
                self.made[key] = False
                self.made[key] = make(key, extent, board.width)
            if self.made[key]:
                yields.append(key)
        return self._add(Knapsack(of, "open", 1, (KnapsackItem(1, 1, 1, yields=tuple(yields)),))) if yields else False

    # -- stages two and three -------------------------------------------------------------------------------

    def _rips(
        self,
        of: Key,
        width: int,
        length: int,
        extents: list[int],
        yields: Callable[[int], tuple[Key, ...]],
        candidates: Sequence[int],
    ) -> bool:
        """Rips a region into strips of the candidate widths; the uncut region itself counts as a strip."""
        items: list[KnapsackItem] = []
        added = False
        for strip in candidates:
            if strip > width:
                continue
            keys = yields(strip)
            if not keys:
                continue
            if strip == width:
                added |= self._add(
                    Knapsack(of, "rip", width + self.ky, (KnapsackItem(strip, strip + self.ky, 1, yields=keys),))
                )
            elif may_rip(self.rules, strip, length):
                cap = (width + self.rip_room) // (strip + self.ky)
                if all(key[0] == "strip" for key in keys):
                    cap = min(cap, self._strips_wanted(strip, extents))
                items.append(KnapsackItem(strip, strip + self.ky, cap, yields=keys, narrow=self._is_narrow(strip)))
        return self._add_rips(of, width, items) or added

    def _add(self, knapsack: Knapsack) -> bool:
        self.out.append(knapsack)
        return True

    def _add_rips(self, of: Key, width: int, items: list[KnapsackItem]) -> bool:
        thin = None
        if any(item.narrow for item in items):
            thin = width - (self.rules.parent_wood or 0)
            items = [item for item in items if not item.narrow or item.size <= thin]
        items = [item for item in items if item.size <= width + self.rip_room]
        return bool(items) and self._add(Knapsack(of, "rip", width + self.rip_room, tuple(items), thin))

    def _strips_wanted(self, width: int, extents: list[int]) -> int:
        """The number of strips of this width that would make all blanks that fit in one."""
        total = 0
        for item in self._in_strip(width):
            per = sum((extent + self.kx) // item.size for extent in extents)
            total += -(-item.cap // per) if per else 0
        return total

    def _is_narrow(self, width: int) -> bool:
        return self.rules.narrow_below is not None and width < self.rules.narrow_below

    def _may_trim(self, strip: int, width: int, length: int) -> bool:
        """Whether a piece can be ripped down inside a wider strip after the crosscuts."""
        if strip == width:
            return True
        return self.trim and may_rip(self.rules, width, length) and not self._is_narrow(width)

    def _lay_in_strip(self, size: SameBlanks, width: int) -> tuple[int, int, bool] | None:
        """How a blank is placed in a strip of this width: of the allowed ways, the one that uses the least length."""
        lays = [lay for lay in lays_of(size) if lay[1] <= width and self._may_trim(width, lay[1], lay[0])]
        return min(lays, default=None)

    def _in_strip(self, width: int) -> tuple[KnapsackItem, ...]:
        """All parts that can be crosscut from a strip of this width, whatever its length."""
        if width not in self.in_strip:
            lays = [(i, size, self._lay_in_strip(size, width)) for i, size in enumerate(self.sizes)]
            self.in_strip[width] = tuple(
                KnapsackItem(lay[0], lay[0] + self.kx, size.count, yields=(("size", i),), rotated=lay[2])
                for i, size, lay in lays
                if lay
            )
        return self.in_strip[width]

    def _strip(self, extent: int, width: int) -> bool:
        """Crosscuts a strip into pieces as wide as it is, or narrower with a final trim."""
        key: Key = ("strip", extent, width)
        if key in self.made:
            return self.made[key]
        items = self._in_strip(width)
        self.made[key] = any(item.extent <= extent for item in items)
        return self.made[key] and self._add(Knapsack(key, "crosscut", extent + self.kx, items))

    def _unripped(self, extent: int, width: int) -> list[KnapsackItem]:
        """Blanks as wide as a region, crosscut directly from it without a rip."""
        items = []
        for i, size in enumerate(self.sizes):
            for length, across, turned in lays_of(size):
                if across == width and length <= extent:
                    items.append(
                        KnapsackItem(length, length + self.kx, size.count, yields=(("size", i),), rotated=turned)
                    )
        return items

    def _section(self, length: int, width: int) -> bool:
        """Rips a section into pieces as long as it is, or shorter with a final trim."""
        key: Key = ("section", length, width)
        if key not in self.made:
            items = []
            for i, size in enumerate(self.sizes):
                lays = [lay for lay in lays_of(size) if lay[0] == length or (self.trim and lay[0] < length)]
                ripped = [lay for lay in lays if lay[1] < width and may_rip(self.rules, lay[1], length)]
                if ripped:
                    _, across, turned = min(ripped, key=lambda lay: (lay[1], lay[0]))
                    thin = self._is_narrow(across)
                    items.append(
                        KnapsackItem(
                            across, across + self.ky, size.count, yields=(("size", i),), narrow=thin, rotated=turned
                        )
                    )
            self.made[key] = self._add_rips(key, width, items)
        return self.made[key]

    def _crosscuts_unripped(self, of: Key, extent: int, width: int) -> bool:
        items = self._unripped(extent, width)
        return bool(items) and self._add(Knapsack(of, "crosscut", extent + self.kx, tuple(items)))

    def _crosscuts_to_sections(self, of: Key, extent: int, width: int) -> bool:
        items = self._unripped(extent, width)
        for length in self.lengths:
            if length <= extent and self._section(length, width):
                cap = sum(size.count for size in self.sizes if any(lay[0] <= length for lay in lays_of(size)))
                items.append(KnapsackItem(length, length + self.kx, cap, yields=(("section", length, width),)))
        return bool(items) and self._add(Knapsack(of, "crosscut", extent + self.kx, tuple(items)))

    def _sections(self, of: Key, extent: int, width: int) -> bool:
        """Crosscuts a stretch into sections that are then ripped and crosscut, and into blanks that need no rip."""
        longest = min(extent, self.rules.longest_rip or extent)
        items = []
        # Blanks as wide as the board need no rip, however long they are, so they can be side by side.
        wide = {item.extent: item.cap for item in self._unripped(extent, width)}
        for length in self._extents([wide], extent, self.kx, extent):
            if self._strip(length, width):
                items.append(KnapsackItem(length, length + self.kx, 1, yields=(("strip", length, width),)))
        narrower = [strip for strip in self.widths if strip < width]
        always = self.lengths if self.job.cutting.stages == 3 else []
        if self.rules.shortest_rip is not None:
            always = [*always, max(1, self.rules.shortest_rip - (self.spare or 0))]
        cap = sum(size.count for size in self.sizes)
        groups = [self._lengths_in(w) for w in narrower]
        spare = self.spare or 0
        for inside in self._extents(groups, max(0, longest - spare), self.kx, extent, always, spare=spare):
            length = inside + spare
            for key in self._parts(length, width, narrower):
                items.append(
                    KnapsackItem(
                        length, length + self.kx, min(cap, (extent + self.kx) // (length + self.kx)), yields=(key,)
                    )
                )
        return bool(items) and self._add(Knapsack(of, "crosscut", extent + self.kx, tuple(items)))

    def _parts(self, length: int, width: int, narrower: list[int]) -> list[Key]:
        """The regions of a section to rip into strips: one for each way to rip it, or one if there are many ways."""
        whole: Key = ("part", length, width)
        inside = length - (self.spare or 0)
        if whole not in self.parts:

            def strips(strip: int) -> tuple[Key, ...]:
                return (("strip", inside, strip),) if self._strip(inside, strip) else ()

            self.parts[whole] = [whole] if self._rips(whole, width, length, [inside], strips, narrower) else []
            rips = self.out.pop() if self.parts[whole] else None
            ways = maximal_patterns(rips, _FEW_RIPS) if rips else []
            if rips and ways is None:
                self.out.append(rips)
            elif rips and ways is not None:
                self.parts[whole] = []
                for way in ways:
                    chosen = tuple(replace(i, cap=n) for i, n in zip(rips.items, way, strict=True) if n)
                    key = (*whole, *(n for item in chosen for n in (item.extent, item.cap)))
                    self.out.append(replace(rips, of=key, items=chosen))
                    self.parts[whole].append(key)
        return self.parts[whole]

    def _panel(self, extent: int, width: int) -> Key | None:
        """A panel, crosscut into blanks of its own width and into blocks to rip; a strip if there are no blocks."""
        key: Key = ("panel", extent, width)
        if key not in self.made:
            blocks = any(length <= extent and self._section(length, width) for length in self.lengths)
            self.made[key] = blocks and self._crosscuts_to_sections(key, extent, width)
        if self.made[key]:
            return key
        return ("strip", extent, width) if self._strip(extent, width) else None

    # -- candidate extents ----------------------------------------------------------------------------------

    def _lengths_in(self, width: int) -> dict[int, int]:
        """The lengths that fit in a strip of this width, and the count of each."""
        counts: dict[int, int] = {}
        for item in self._in_strip(width):
            counts[item.extent] = counts.get(item.extent, 0) + item.cap
        return counts

    def _extents(
        self,
        groups: Sequence[dict[int, int]],
        longest: int,
        kerf: int,
        whole: int,
        always: Sequence[int] = (),
        *,
        spare: int = 0,
    ) -> list[int]:
        """The sums (with kerfs between) of each group's parts, up to `longest`. If there are many, only a selection.

        `spare` is how much longer a region is than its parts.
        """
        extents = {extent for extent in always if extent <= longest}
        for group in groups:
            sums, is_all = sums_of(group, longest, kerf)
            extents |= sums
            self.complete &= is_all
        if self.only is not None:
            self.complete = False
            extents &= {*(extent - spare for extent in self.only), *always}
        ordered = sorted(extents)
        if len(ordered) > self.most_sections:
            self.complete = False
            ordered = sorted({*spread_of(ordered, self.most_sections, longest, kerf, whole), *always})
        return ordered[::-1]
