"""Plans by first-fit decreasing. The plan is a start for the search, and the result if there is no solver.

It takes the pieces widest and longest first, and puts each into the first strip with space. If there is none, it starts
a new strip, or a new board.
"""

from dataclasses import dataclass, field, replace

from woodshop.cutting.model.job import Job, Rules, Stock
from woodshop.cutting.planner.assemble import Counted, CutRegion, Leaf, Tree
from woodshop.cutting.planner.knapsack import Axis, SameBlanks, lays_of
from woodshop.cutting.planner.network import Network, StockBoard, may_rip, rip_room

_MOST_TRIALS = 4000
_MOST_PIECES = 20_000


@dataclass(slots=True)
class _Lane:
    """A strip (or section): its extent across the first cut, the space left per stretch, and its pieces."""

    extent: int
    room: list[int]
    laid: list[list[tuple[int, Leaf]]]


@dataclass(slots=True)
class _Panel:
    """A region ripped into strips (`axis` "rip") or crosscut into sections ("crosscut")."""

    axis: Axis
    stretches: tuple[tuple[int, int], ...]
    length: int
    width: int
    room: list[int]
    thin: int
    is_ripped: bool = True
    lanes: list[_Lane] = field(default_factory=list)
    is_whole: bool = False


@dataclass(slots=True)
class _OpenBoard:
    stock: int
    panels: list[_Panel]
    sections: int


def first_fit(job: Job, network: Network) -> Counted | None:
    """The best of a few first-fit plans, each of which prefers stock in a different order. None if stock runs short.

    If there are too many pieces, plans a fraction of them and repeats these boards. This gives a few surplus pieces,
    from unlimited stock.
    """
    pieces = sum(size.count for size in network.sizes)
    if pieces > _MOST_PIECES:
        return _in_parts(job, network, -(-2 * pieces // _MOST_PIECES))
    ratio = sorted(range(len(job.stock)), key=lambda j: (_per_area(job.stock[j], network.boards[j]), j))
    orders = [ratio, sorted(range(len(job.stock)), key=lambda j: (job.stock[j].cost, j))]
    orders += [[j, *(k for k in ratio if k != j)] for j in ratio[: max(0, _MOST_TRIALS // pieces)]]
    best: tuple[int, Counted] | None = None
    for order in orders:
        boards = _FirstFit(job, network).run(order)
        if boards is None:
            continue
        cost = sum(job.stock[stock].cost * times for stock, times, _ in boards)
        if best is None or cost < best[0]:
            best = (cost, boards)
    return best[1] if best else None


def _in_parts(job: Job, network: Network, times: int) -> Counted | None:
    part = replace(network, sizes=tuple(replace(size, count=-(-size.count // times)) for size in network.sizes))
    at_will = replace(
        job, stock=tuple(stock if stock.count is None else replace(stock, count=0) for stock in job.stock)
    )
    found = first_fit(at_will, part)
    return found and [(stock, times, tree) for stock, _, tree in found]


def _per_area(stock: Stock, board: StockBoard) -> float:
    return stock.cost / max(1, board.width * sum(extent for _, extent in board.segments))


class _FirstFit:
    def __init__(self, job: Job, network: Network) -> None:
        self.job, self.network = job, network
        self.rules: Rules = job.rules if job.is_flat else Rules()
        self.kx, self.ky = job.kerf.crosscut, job.kerf.rip
        self.rip_room = rip_room(job)
        least = self.rules.least_remainder
        self.spare = 0 if least is None else self.kx + least  # a section is this much longer than its pieces
        self.boards: list[_OpenBoard] = []

    def run(self, order: list[int]) -> Counted | None:
        left = {j: stock.count for j, stock in enumerate(self.job.stock)}
        sizes = sorted(enumerate(self.network.sizes), key=lambda pair: (-pair[1].width, -pair[1].length, pair[0]))
        for i, size in sizes:
            start = 0
            for _ in range(size.count):
                while start < len(self.boards) and not self._lay_on(self.boards[start], i, size):
                    start += 1
                if start < len(self.boards):
                    continue
                if not self._lay_on_new(i, size, order, left):
                    return None
        return [(board.stock, 1, _tree(board)) for board in self.boards]

    def _lay_on_new(self, i: int, size: SameBlanks, order: list[int], left: dict[int, int | None]) -> bool:
        for j in order:
            count = left[j]
            if count == 0:
                continue
            for board in self._blank_boards(j):
                if self._lay_on(board, i, size):
                    self.boards.append(board)
                    left[j] = None if count is None else count - 1
                    return True
        return False

    def _blank_boards(self, j: int) -> list[_OpenBoard]:
        """The possible ways to start a new board."""
        board, cutting = self.network.boards[j], self.job.cutting
        ways = []
        longest = self.rules.longest_rip
        along = cutting.first in ("along", "either") or cutting.stages == 3
        if along or not self.job.is_flat:
            whole = self._panel("rip", board.segments, board.length, board)
            if self.rules.defects is not None and board.is_in_sections:
                whole.is_ripped = False
            ways.append(_OpenBoard(j, [whole], 0))
            if self.job.is_flat and board.is_in_sections and board.is_ripped:
                panels = []
                for start, extent in board.segments:
                    shares = -(-(extent + self.kx) // ((longest or extent) + self.kx))
                    share = (extent + self.kx) // shares - self.kx
                    if share > self.spare:
                        stretch = ((start, share - self.spare),)
                        panels += [self._panel("rip", stretch, share, board) for _ in range(shares)]
                ways.append(_OpenBoard(j, panels, 1))
        if cutting.first in ("across", "either") and self.job.is_flat:
            ways.append(_OpenBoard(j, [self._panel("crosscut", (s,), s[1], board) for s in board.segments], 2))
        return ways

    def _panel(self, axis: Axis, stretches: tuple[tuple[int, int], ...], length: int, board: StockBoard) -> _Panel:
        width = board.width
        room = width + self.rip_room if axis == "rip" else length + self.kx
        thin = width - (self.rules.parent_wood or 0)
        return _Panel(axis, stretches, length, width, [room], thin, board.is_ripped)

    def _lay_on(self, board: _OpenBoard, i: int, size: SameBlanks) -> bool:
        for panel in board.panels:
            for length, width, turned in lays_of(size):
                lay = self._rip_panel if panel.axis == "rip" else self._section_panel
                if lay(panel, Leaf(i, turned), length, width):
                    return True
        return False

    def _rip_panel(self, panel: _Panel, leaf: Leaf, length: int, width: int) -> bool:
        for lane in panel.lanes:
            if lane.extent == width or (
                lane.extent > width
                and self.job.cutting.final_trim
                and may_rip(self.rules, width, length)
                and not self._is_narrow(width)
            ):
                for n, room in enumerate(lane.room):
                    if length + self.kx <= room:
                        lane.room[n] -= length + self.kx
                        lane.laid[n].append((length, leaf))
                        return True
        longest = max((extent for _, extent in panel.stretches), default=0)
        if length > longest or not self._new_lane(panel, width, panel.width, panel.length, width + self.ky):
            return False
        panel.lanes.append(
            _Lane(width, [extent + self.kx for _, extent in panel.stretches], [[] for _ in panel.stretches])
        )
        return self._rip_panel(panel, leaf, length, width)

    def _new_lane(self, panel: _Panel, width: int, whole: int, length: int, size: int) -> bool:
        """Adds a strip if there is space. A strip as wide as the panel needs no rip and leaves no space for others."""
        if width == whole:
            if panel.lanes:
                return False
            panel.is_whole = True
            panel.room[0] = 0
            return True
        if not panel.is_ripped:
            return False
        narrow = self._is_narrow(width)
        if size > panel.room[0] or not may_rip(self.rules, width, length) or (narrow and size > panel.thin):
            return False
        panel.room[0] -= size
        panel.thin -= size if narrow else 0
        return True

    def _section_panel(self, panel: _Panel, leaf: Leaf, length: int, width: int) -> bool:
        for lane in panel.lanes:
            if lane.extent != length or width == panel.width:
                continue
            thin = self._is_narrow(width)
            if (
                width + self.ky <= lane.room[0]
                and may_rip(self.rules, width, length)
                and (not thin or width + self.ky <= lane.room[1])
            ):
                lane.room[0] -= width + self.ky
                lane.room[1] -= width + self.ky if thin else 0
                lane.laid[0].append((width, leaf))
                return True
        if length + self.kx > panel.room[0] or width > panel.width:
            return False
        thin_room = panel.width - (self.rules.parent_wood or 0)
        lane = _Lane(length, [panel.width + self.rip_room, thin_room], [[]])
        if width == panel.width:
            lane.room = [0, 0]
            lane.laid[0].append((width, leaf))
        elif (
            not panel.is_ripped
            or not may_rip(self.rules, width, length)
            or (self._is_narrow(width) and width + self.ky > thin_room)
            or width + self.ky > lane.room[0]
        ):
            return False
        panel.room[0] -= length + self.kx
        panel.lanes.append(lane)
        return width == panel.width or self._section_panel(panel, leaf, length, width)

    def _is_narrow(self, width: int) -> bool:
        return self.rules.narrow_below is not None and width < self.rules.narrow_below


def _tree(board: _OpenBoard) -> Tree:
    if board.sections == 0:
        return _lanes(board.panels[0], "crosscut", whole=True)
    if board.sections == 2:
        inner = [(panel.stretches[0][0], _lanes(panel, "rip", whole=False)) for panel in board.panels if panel.lanes]
        return CutRegion("open", ((1, tuple(inner)),))
    stretches: dict[int, list[tuple[int, tuple[tuple[int, Tree], ...]]]] = {}
    for panel in board.panels:
        if panel.lanes:
            start = panel.stretches[0][0]
            stretches.setdefault(start, []).append((panel.length, ((0, _lanes(panel, "crosscut", whole=False)),)))
    return CutRegion(
        "open", ((1, tuple((start, CutRegion("crosscut", tuple(parts))) for start, parts in stretches.items())),)
    )


def _lanes(panel: _Panel, then: Axis, *, whole: bool) -> Tree:
    parts = []
    for lane in panel.lanes:
        inner = []
        for (start, _), laid in zip(panel.stretches, lane.laid, strict=True):
            if laid:
                leaves = tuple((extent, ((0, leaf),)) for extent, leaf in laid)
                inner.append((start if whole else 0, CutRegion(then, leaves)))
        parts.append((lane.extent, tuple(inner)))
    return CutRegion(panel.axis, tuple(parts))
