"""Checks whether a plan is sound, using only its flat rectangles and code that is independent of the planner.

Recursion decides whether a layout can be sawn. A region is divided wherever a full cut with its kerf can run, first in
one direction and then in the other. After the allowed number of stages, every part must be one piece. A finer division
never prevents a later cut, so each region is divided as finely as possible. The exception is division into sections,
for which every grouping is tried.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from math import gcd
from operator import itemgetter

from woodshop.cutting.model.job import Direction, Job, Rules, Stock, job_digest
from woodshop.cutting.model.plan import ASSURANCES, BOUND_KINDS, Layout, Piece, Plan
from woodshop.findings import Finding, Severity

Box = tuple[int, int, int, int]
"""Left, right, bottom and top: x0, x1, y0, y1."""


def check_plan(plan: Plan, job: Job | None = None) -> tuple[Finding, ...]:
    """Every fault in a plan, as an error finding; none for a sound plan. If `job` is given, the plan must be for it."""
    found: list[Finding] = []

    def error(code: str, place: str, value: str, limits: str, change: str) -> None:
        found.append(Finding(code, Severity.ERROR, place, value, limits, "the job's own numbers", change))

    digest = job_digest(plan.job)
    if plan.job_digest != digest:
        error("plan-digest", "job_digest", plan.job_digest[:12], f"{digest[:12]}, of the job inside", "Plan again.")
    if job is not None and job_digest(job) != digest:
        error("plan-digest", "job", digest[:12], f"{job_digest(job)[:12]}, of the job given", "Plan this job.")
    _check_counts(plan, error)
    _check_money(plan, error)
    stock_by_id = {stock.id: stock for stock in plan.job.stock}
    for n, layout in enumerate(plan.layouts):
        place = f"layouts[{n}]"
        stock = stock_by_id.get(layout.stock)
        if stock is None:
            error("plan-stock", place, f"stock {layout.stock!r}", "stock that the job has", "Plan again.")
        else:
            _check_layout(plan.job, stock, layout, place, error)
    return tuple(found)


Error = Callable[[str, str, str, str, str], None]


def _check_counts(plan: Plan, error: Error) -> None:
    job = plan.job
    wanted, spare = Counter[str](), Counter[str]()
    used = Counter[str]()
    for n, layout in enumerate(plan.layouts):
        if layout.times < 1:
            error("plan-times", f"layouts[{n}]", f"{layout.times} times", "at least once", "Plan again.")
        if not layout.pieces:
            error("plan-empty", f"layouts[{n}]", "no piece", "at least one piece", "Remove the layout.")
        used[layout.stock] += layout.times
        for piece in layout.pieces:
            (spare if piece.spare else wanted)[piece.id] += layout.times
    known = {blank.id for blank in job.blanks}
    for name in sorted((wanted | spare).keys() - known):
        value = "appears in a layout but not in the job"
        error("plan-unknown", f"part {name!r}", value, "only parts in the job", "Plan again.")
    for blank in job.blanks:
        if wanted[blank.id] != blank.count:
            value, limits = f"{wanted[blank.id]} pieces", f"{blank.count}, not counting spares"
            error("plan-count", f"part {blank.id!r}", value, limits, "Plan again.")
        if spare[blank.id] and job.rules.surplus == "drop":
            error("plan-spare", f"part {blank.id!r}", f"{spare[blank.id]} spare", "none", "Remove them.")
    for stock in job.stock:
        if stock.count is not None and used[stock.id] > stock.count:
            value, limits = f"{used[stock.id]} used", f"at most {stock.count}, which is all you have"
            error("plan-stock-count", f"stock {stock.id!r}", value, limits, "Plan again.")


def _check_money(plan: Plan, error: Error) -> None:
    costs = {stock.id: stock.cost for stock in plan.job.stock}
    cost = sum(costs.get(layout.stock, 0) * layout.times for layout in plan.layouts)
    if plan.cost != cost:
        error("plan-cost", "cost", str(plan.cost), f"{cost}, the total for the layouts", "Plan again.")
    if not 0 <= plan.bound <= plan.cost:
        error("plan-bound", "bound", str(plan.bound), f"from 0 to the cost {plan.cost}", "Plan again.")
    if plan.gap != plan.cost - plan.bound:
        error("plan-gap", "gap", str(plan.gap), f"{plan.cost - plan.bound}, cost less bound", "Plan again.")
    if plan.bound_kind not in BOUND_KINDS or plan.assurance not in ASSURANCES:
        value = f"{plan.assurance!r} by {plan.bound_kind!r}"
        error("plan-assurance", "assurance", value, f"{ASSURANCES} by {BOUND_KINDS}", "Plan again.")
    is_proved = plan.assurance in ("proved", "solved")
    exact = plan.bound_kind in ("root", "area", "tree")
    if (is_proved and plan.gap != 0) or (plan.assurance == "within" and plan.gap == 0):
        error(
            "plan-assurance",
            "assurance",
            f"{plan.assurance} with gap {plan.gap}",
            "one that matches the gap",
            "Plan again.",
        )
    elif (plan.assurance == "proved") != (is_proved and exact):
        value = f"{plan.assurance} by a {plan.bound_kind} bound"
        error("plan-assurance", "assurance", value, "proved by exact bounds only", "Plan again.")
    step = gcd(*costs.values())
    if step and plan.bound % step and plan.bound < plan.cost:
        error("plan-bound", "bound", str(plan.bound), f"a multiple of {step}, as all prices are", "Round it up.")


def _check_layout(job: Job, stock: Stock, layout: Layout, place: str, error: Error) -> None:
    x0, x1, y0, y1 = area_of(stock)
    blanks = {blank.id: blank for blank in job.blanks}
    boxes: list[Box] = []
    sound = True
    for m, piece in enumerate(layout.pieces):
        at = f"{place}.pieces[{m}]"
        if (piece.y is None, piece.width is None) != (not job.is_flat, not job.is_flat):
            error("plan-size", at, "y or width", "both, if the job has widths; otherwise neither", "Plan again.")
            sound = False
            continue
        box = box_of(piece)
        boxes.append(box)
        blank = blanks.get(piece.id)
        if blank is not None:
            given = (piece.length, piece.width)
            plain, turned = (blank.length, blank.width), (blank.width, blank.length)
            if piece.rotated and not blank.rotate:
                error("plan-rotated", at, "turned", "along the grain", "Turn it back.")
            elif given != (turned if piece.rotated else plain):
                limits = f"{blank.length} x {blank.width}" + (" turned" if piece.rotated else "")
                error("plan-size", at, f"{piece.length} x {piece.width}", limits, "Plan again.")
        if not (x0 <= box[0] and box[1] <= x1 and y0 <= box[2] and box[3] <= y1):
            value = f"x {box[0]}..{box[1]}, y {box[2]}..{box[3]}"
            error("plan-outside", at, value, f"x {x0}..{x1}, y {y0}..{y1}", "Move it inside the trimmed stock.")
            sound = False
        for u0, u1 in stock.unusable:
            if box[0] < u1 and u0 < box[1]:
                error("plan-unusable", at, f"x {box[0]}..{box[1]}", f"off {u0}..{u1}", "Move it.")
    if any(box[0] >= box[1] or box[2] >= box[3] for box in boxes):
        error("plan-size", place, "a piece of no size", "length and width of at least 1", "Plan again.")
        return
    if _overlaps(boxes, error, place) or not sound:
        return
    _check_sawing(job, layout, boxes, area=(x0, x1, y0, y1), place=place, error=error)


def area_of(stock: Stock) -> Box:
    """The area of the stock left after its trims."""
    width = 1 if stock.width is None else stock.width
    return (stock.end_trim, stock.length - stock.end_trim, stock.edge_trim, width - stock.edge_trim)


def box_of(piece: Piece) -> Box:
    """The piece as (x from, x to, y from, y to). A one-dimensional piece is one unit wide."""
    y = piece.y or 0
    return (piece.x, piece.x + piece.length, y, y + (1 if piece.width is None else piece.width))


def _overlaps(boxes: list[Box], error: Error, place: str) -> bool:
    ordered = sorted(range(len(boxes)), key=lambda n: boxes[n])
    found = False
    for rank, a in enumerate(ordered):
        for b in ordered[rank + 1 :]:
            if boxes[b][0] >= boxes[a][1]:
                break
            if boxes[a][2] < boxes[b][3] and boxes[b][2] < boxes[a][3]:
                value = f"pieces {min(a, b)} and {max(a, b)} overlap"
                error("plan-overlap", place, value, "no two pieces on the same wood", "Plan again.")
                found = True
    return found


# -- can it be sawn? ------------------------------------------------------------------------------------------


def _check_sawing(job: Job, layout: Layout, boxes: list[Box], *, area: Box, place: str, error: Error) -> None:
    stock = next(stock for stock in job.stock if stock.id == layout.stock)
    ways = ways_of(job, layout, area)
    if not ways:
        error("plan-direction", place, f"first {layout.first}", job.cutting.first, "Plan again.")
        return
    saw = Saw(job, job.rules, stock)
    if any(saw.can_cut(boxes, area, way) for way in ways):
        return
    if any(Saw(job, Rules(), replace(stock, rip=True)).can_cut(boxes, area, way) for way in ways):
        for value, limits, change in broken_rules(job, stock, boxes, area, ways):
            error("plan-rule", place, value, limits, change)
        return
    too_close = _too_close(job, stock, boxes)
    if too_close is not None:
        error("plan-kerf", place, *too_close, "Move the pieces a kerf apart, or plan again.")
        return
    limits = f"at most {job.cutting.stages} stages, {job.cutting.first} first, a kerf at every cut"
    error("plan-kerf", place, "no edge-to-edge cuts separate the pieces", limits, "Plan again.")


def _too_close(job: Job, stock: Stock, boxes: list[Box]) -> tuple[str, str] | None:
    """The distance between two adjacent pieces that are less than a kerf apart, and the limit.

    None if there are no such pieces.
    """
    for n, a in enumerate(boxes):
        for m, b in enumerate(boxes[n + 1 :], n + 1):
            along = max(a[0], b[0]) - min(a[1], b[1])
            across = max(a[2], b[2]) - min(a[3], b[3])
            for gap, other, kerf, word in (
                (along, across, job.kerf.crosscut, "crosscut"),
                (across, along, job.kerf.rip, "rip"),
            ):
                if other < 0 <= gap < kerf:
                    limits = f"a {word} kerf of {kerf} between them"
                    for u0, u1 in stock.unusable if word == "crosscut" else ():
                        if min(a[1], b[1]) <= u0 and u1 <= max(a[0], b[0]):
                            limits += f"; the unusable stretch {u0} to {u1} is {u1 - u0} long, narrower than the kerf"
                    return f"pieces {n} and {m} are {gap} apart", limits
    return None


def broken_rules(job: Job, stock: Stock, boxes: list[Box], area: Box, ways: list[str]) -> list[tuple[str, str, str]]:
    """Each rule that a layout breaks, as (the cut, the rule's limit, what to do).

    A rule is broken if no order of cuts obeys it, even with all other rules ignored. If each rule by itself can be
    obeyed, the result names the rules that cannot be obeyed together.
    """
    rules = job.rules
    alone = [("rip", "", stock, Rules())] if not stock.rip else []
    free = replace(stock, rip=True)
    if rules.parent_wood is not None:
        both = Rules(narrow_below=rules.narrow_below, parent_wood=rules.parent_wood)
        alone.append(("parent_wood", str(rules.parent_wood), free, both))
    for key in ("least_strip", "shortest_rip", "longest_rip", "least_remainder", "defects"):
        if getattr(rules, key) is not None:
            alone.append((key, str(getattr(rules, key)), free, Rules(**{key: getattr(rules, key)})))
    found = []
    for key, number, own, rule in alone:
        saw = Saw(job, rule, own)
        if not any(saw.can_cut(boxes, area, way) for way in ways):
            value, limits = saw.denied.get(key, ("no order of cuts keeps this rule", f"{key} {number}".strip()))
            found.append((f"{key}: {value}", limits, "Plan again, or change this rule."))
    if not found:
        names = " and ".join(f"{key} {number}".strip() for key, number, _, _ in alone)
        found = [
            ("no order of cuts keeps all the rules", f"{names}, all at once", "Plan again, or change one of them.")
        ]
    return found


def ways_of(job: Job, layout: Layout, area: Box) -> list[str]:
    """The orders of cuts allowed for a layout: "y" stands for rips, "x" for crosscuts."""
    stock = next(stock for stock in job.stock if stock.id == layout.stock)
    return [way for first, way in _all_ways(job, stock, area) if layout.first in (None, first)]


def _all_ways(job: Job, stock: Stock, area: Box) -> list[tuple[Direction, str]]:
    """Each order of cuts that the job allows on this stock, with the `first` that a layout states for it."""
    if not job.is_flat:
        return [("along", "yx")]
    cutting, longest = job.cutting, job.rules.longest_rip
    along, across = cutting.first in ("along", "either"), cutting.first in ("across", "either")
    cut_up = (longest is not None and area[1] - area[0] > longest) or (
        job.rules.defects == "cut_out" and bool(stock.unusable)
    )
    ways: list[tuple[Direction, str]] = []
    if cutting.stages == 2:
        ways += [("along", "yx")] if along else []
        ways += [("across", "xy")] if across else []
        if along and cut_up:
            ways.append(("across", "xyx"))
    else:
        # A stage can be omitted, so three stages include two stages that start in the other direction.
        ways += [("along", "yx"), ("along", "yxy"), ("along", "xy")] if along else []
        ways += [("across", "xy"), ("across", "xyx")] if across else []
        if cut_up and along and not across:
            ways.append(("across", "xyx"))
    return ways


class Saw:
    """Decides whether a saw can separate the pieces (boxes) on one stock, with a job's kerfs and the given rules.

    `denied` maps each rule that has prevented a cut to a description of the cut and of the limit.
    """

    def __init__(self, job: Job, rules: Rules, stock: Stock) -> None:
        self.kerf = {"x": job.kerf.crosscut, "y": job.kerf.rip}
        self.trim = job.cutting.final_trim
        self.rules = rules
        self.stock = stock
        self.denied: dict[str, tuple[str, str]] = {}
        self._known: tuple[list[Box], Box, list[tuple[int, int, list[Box]]] | None] | None = None

    def can_cut(self, boxes: list[Box], area: Box, way: str) -> bool:
        """Whether cuts in this order can separate the area into its pieces without breaking a rule."""
        if way == "yx":
            return self._ripped(boxes, area, self._crosscut) or self.is_left_whole(boxes, area)
        if way == "xy":
            return self._blocks(boxes, area)
        if way == "xyx":
            return self.sections(boxes, area) is not None
        return self._ripped(boxes, area, self._blocks)

    def groups(self, boxes: list[Box], axis: str) -> list[list[Box]]:
        """The boxes, divided in order into the most groups that full cuts with a kerf can separate."""
        return [group for _, _, group in self._spanned(boxes, axis)]

    def _spanned(self, boxes: list[Box], axis: str) -> list[tuple[int, int, list[Box]]]:
        """The groups, each with its start and end."""
        low, high = (0, 1) if axis == "x" else (2, 3)
        kerf = self.kerf[axis]
        found: list[tuple[int, int, list[Box]]] = []
        begin = reach = 0
        group: list[Box] = []
        for box in sorted(sorted(boxes), key=itemgetter(low)):
            if group and box[low] < reach + kerf:
                group.append(box)
                reach = max(reach, box[high])
                continue
            if group:
                found.append((begin, reach, group))
            begin, reach, group = box[low], box[high], [box]
        return [*found, (begin, reach, group)] if group else found

    def is_left_whole(self, boxes: list[Box], area: Box) -> bool:
        """Whether an area whose strips must not be ripped is crosscut as it is, and each piece trimmed to its width."""
        return self.trim and self._crosscut(boxes, area) and not self._ripped(boxes, area, self._crosscut)

    def _ripped(
        self,
        boxes: list[Box],
        area: Box,
        then: Callable[[list[Box], Box], bool],
        strips: list[tuple[int, int, list[Box]]] | None = None,
    ) -> bool:
        """Whether the area can be ripped into strips within the rules, and each strip can be cut further by `then`.

        `strips` are the strips of the boxes, if known.
        """
        length, width = area[1] - area[0], area[3] - area[2]
        hand, used, is_ripped = width, 0, False
        for low, high, strip in self._spanned(boxes, "y") if strips is None else strips:
            extent = high - low
            used += extent + self.kerf["y"]
            if extent < width:
                is_ripped = True
                if not self._may_rip(extent, length):
                    return False
                if self._is_narrow(extent):
                    hand -= extent + self.kerf["y"]
            if not then(strip, (area[0], area[1], low, high)):
                return False
        if is_ripped and not (self._is_clear(area) and self._leaves_remainder(used, area)):
            return False
        if hand == width or hand >= (self.rules.parent_wood or 0):
            return True
        limits = f"parent_wood: at least {self.rules.parent_wood} left of {width}"
        return self._deny("parent_wood", f"{max(0, hand)} left between blade and fence after narrow strips", limits)

    def _is_clear(self, area: Box) -> bool:
        """Whether the part can be ripped: false if it contains an unusable stretch that must be cut out first."""
        for u0, u1 in self.stock.unusable if self.rules.defects == "cut_out" else ():
            if area[0] < u1 and u0 < area[1]:
                value = f"a rip from {area[0]} to {area[1]} through the unusable stretch {u0} to {u1}"
                return self._deny("defects", value, "defects: crosscut away before any rip")
        return True

    def _leaves_remainder(self, used: int, area: Box) -> bool:
        """Whether enough width remains to cut off the last strip too. `used` is the width of all strips and kerfs."""
        least = self.rules.least_remainder
        if least is None:
            return True
        width = area[3] - area[2]
        if used + least <= width:
            return True
        value = f"strips with their kerfs take {used} of {width}"
        return self._deny("least_remainder", value, f"least_remainder: at least {least} left beside the last rip")

    def _may_rip(self, width: int, length: int) -> bool:
        rules = self.rules
        rip = f"a rip {length} long"
        if not self.stock.rip:
            return self._deny(
                "rip", f"a strip {width} wide from {self.stock.id!r}", "rip: this stock must not be ripped"
            )
        if rules.least_strip is not None and width < rules.least_strip:
            return self._deny("least_strip", f"a strip {width} wide", f"least_strip: at least {rules.least_strip}")
        if rules.shortest_rip is not None and length < rules.shortest_rip:
            return self._deny("shortest_rip", rip, f"shortest_rip: at least {rules.shortest_rip}")
        if rules.longest_rip is not None and length > rules.longest_rip:
            return self._deny("longest_rip", rip, f"longest_rip: at most {rules.longest_rip}")
        return True

    def _deny(self, rule: str, value: str, limits: str) -> bool:
        self.denied.setdefault(rule, (value, limits))
        return False

    def _is_narrow(self, width: int) -> bool:
        return self.rules.narrow_below is not None and width < self.rules.narrow_below

    def _crosscut(self, strip: list[Box], part: Box) -> bool:
        """Whether a strip can be crosscut into single pieces, each as wide as the strip or trimmed to its width."""
        return all(len(group) == 1 and self._end_y(group, part) for group in self.groups(strip, "x"))

    def _end_y(self, group: list[Box], part: Box) -> bool:
        box = group[0]
        if len(group) != 1:
            return False
        width = box[3] - box[2]
        if width == part[3] - part[2]:
            return True
        return self.trim and self._may_rip(width, box[1] - box[0]) and not self._is_narrow(width)

    def _end_x(self, group: list[Box], part: Box) -> bool:
        """Whether a ripped part of a section is one piece, as long as the section or trimmed to its length."""
        return len(group) == 1 and (self.trim or group[0][:2] == part[:2])

    def _blocks(self, panel: list[Box], part: Box) -> bool:
        return all(
            self._ripped(group, (begin, end, part[2], part[3]), self._end_x)
            for begin, end, group in self._spanned(panel, "x")
        )

    def sections(self, boxes: list[Box], area: Box) -> list[tuple[int, int, list[Box]]] | None:
        """Crosscuts an area into sections, joining neighbors if needed, then rips and crosscuts each section.

        Returns each section as (from, to, its boxes), or None if this is impossible. A section can be longer than its
        boxes if its neighbors leave space. If there are several solutions, returns the one that ends first.
        """
        if self._known is not None and self._known[0] is boxes and self._known[1] == area:
            return self._known[2]  # so the cuts use the sections that were checked
        found = self._sections(boxes, area)
        self._known = (boxes, area, found)
        return found

    def _sections(self, boxes: list[Box], area: Box) -> list[tuple[int, int, list[Box]]] | None:
        groups = self._spanned(boxes, "x")
        spare = 0 if self.rules.least_remainder is None else self.kerf["x"] + self.rules.least_remainder
        best: list[list[tuple[int, int, list[Box]]] | None] = [[], *(None for _ in groups)]
        for last in range(1, len(groups) + 1):
            for start in range(last):
                before, now = best[start], best[last]
                if now is not None and now[-1][1] <= groups[last - 1][1]:
                    break  # no solution can end before its last group does
                if now is not None and start < last - 1 and now[-1][1] <= groups[last - 1][1] + spare:
                    continue  # and no ripped section (several groups) can end nearer to its last group
                free = before[-1][1] + self.kerf["x"] if before else area[0]
                if before is None or groups[start][0] < free:
                    continue
                inside = [box for _, _, group in groups[start:last] for box in group]
                section = self._section(inside, free, area)
                if section is not None and (now is None or section[1] < now[-1][1]):
                    best[last] = [*before, section]
        return best[-1]

    def _section(self, inside: list[Box], free: int, area: Box) -> tuple[int, int, list[Box]] | None:
        left, right = span(inside, "x")
        is_piece = len(inside) == 1 and inside[0] == (left, right, area[2], area[3])
        spare = 0
        if self.rules.least_remainder is not None and not is_piece:
            spare = self.kerf["x"] + self.rules.least_remainder
        strips = self._spanned(inside, "y")
        for least in sorted({0, self.rules.shortest_rip or 0}):
            end = max(right + spare, free + least)
            ends = [(min(left, end - least), end)]
            if self.rules.defects == "cut_out":
                ends.append((left, max(right + spare, left + least)))
            for begin, end in ends:
                section = (begin, end, area[2], area[3])
                if end > area[1]:
                    continue
                if self._ripped(inside, section, self._crosscut, strips) or self.is_left_whole(inside, section):
                    return begin, end, inside
        if spare and right + spare > area[1]:
            value = f"a ripped section that ends {area[1] - right} beyond its last piece"
            self._deny("least_remainder", value, f"least_remainder: {spare}, a kerf and {spare - self.kerf['x']}")
        return None


def span(boxes: list[Box], axis: str) -> tuple[int, int]:
    """The start and end of some boxes along "x" or "y"."""
    low, high = (0, 1) if axis == "x" else (2, 3)
    return min(map(itemgetter(low), boxes)), max(map(itemgetter(high), boxes))
