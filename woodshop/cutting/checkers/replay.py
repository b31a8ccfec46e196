"""A simulated saw that replays a written sequence of cuts and checks that it makes exactly the plan's pieces.

It uses only the job, the plan's pieces and the written values, and shares no code with the code that wrote them. A part
on the saw is a rectangle of the raw stock. A crosscut takes its length off the end at x = 0. A rip takes its strip off
the edge at y = 0, whether the setting is the strip's width or the remaining width. Each piece therefore ends at a known
position, which must match the plan.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Plan
from woodshop.findings import Finding, Severity


@dataclass(slots=True)
class _Part:
    """A part on the saw.

    `is_ripped`: the part was ripped, or comes from a ripped part. `is_left`: the part remains after a rip, or after a
    crosscut of a ripped section, and is waste (neither a piece nor a strip) under the rule `least_remainder`.
    """

    x0: int
    x1: int
    y0: int
    y1: int
    is_whole: bool = False
    is_ripped: bool = False
    in_section: bool = False
    is_left: bool = False

    @property
    def width(self) -> int:
        return self.y1 - self.y0


_Place = tuple[str, int, int, int, int]
"""A piece as (blank id, x, y, length, width)."""


class _Fault(Exception):
    """One problem found during replay: code, value, limits."""


def check_sequence(job: Job, plan: Plan, written: Mapping[str, Any]) -> tuple[Finding, ...]:
    """Every fault in a written sequence (from `sequence_to_json`) that prevents it from making the plan's pieces."""
    found: list[Finding] = []

    def error(code: str, place: str, value: str, limits: str) -> None:
        found.append(Finding(code, Severity.ERROR, place, value, limits, "the plan and the job", "Plan again."))

    if written.get("format") != "woodshop-sequence/1":
        error("sequence-format", "format", repr(written.get("format"))[:40], "'woodshop-sequence/1'")
        return tuple(found)
    saws = [_Bench(job, plan, number) for number in range(len(plan.layouts))]
    stations = written["stations"]
    strips = sum(
        stroke["boards"] * stroke["passes"] for each in stations if each["set"] == "strip" for stroke in each["strokes"]
    )
    if written["fence_moves"] != strips:
        value = f"{written['fence_moves']} fence moves"
        error("sequence-moves", "fence_moves", value, f"{strips}, one for each strip cut against the stop")
    if written["moves"] != len(stations) + strips:
        limits = (
            f"{len(stations) + strips} moves: {len(stations)} saw settings plus {strips} strips cut against the stop"
        )
        error("sequence-moves", "moves", f"{written['moves']} moves", limits)
    different = {(each["phase"], each["along"], each["set"], each["distance"]) for each in stations}
    if written["least"] != len(different) + strips:
        limits = (
            f"{len(different) + strips} moves: {len(different)} different settings of all phases plus {strips} strips "
            "cut against the stop"
        )
        error("sequence-moves", "least", f"at least {written['least']}", limits)
    if not len(different) <= written["planner_least"] - strips <= len(stations):
        value, limits = f"at least {written['planner_least']}", f"{len(different) + strips} to {len(stations) + strips}"
        error("sequence-moves", "planner_least", value, limits)
    other = "strip" if written["thin_rip"] == "free side" else "remaining"
    for n, station in enumerate(stations):
        if station["set"] == other:
            value = f"{other!r} with narrow strips against the {written['thin_rip']}"
            error("sequence-setting", f"stations[{n}].set", value, "one way to rip narrow strips")
    before = None
    phases = list(dict.fromkeys([station["phase"] for station in stations]))
    order = ["trim", "section", "rip", "crosscut", "block", "finish"]
    if phases != [phase for phase in order if phase in phases]:
        error("sequence-order", "stations", ", ".join(phases), f"phases in this order: {', '.join(order)}")
        return tuple(found)
    due = sorted(written["named"], key=lambda naming: order.index(naming["phase"]))
    for n, station in enumerate(stations):
        place = f"stations[{n}]"
        while due and order.index(due[0]["phase"]) < order.index(station["phase"]):
            saws[due[0]["layout"]].rename(due[0]["of"], due[0]["name"])
            due.pop(0)
        setting = (station["along"], station["set"], station["distance"])
        if not station["strokes"] or (setting == before and station["phase"] == stations[n - 1]["phase"]):
            error("sequence-moves", place, "a setting without a cut", "each setting once, with a cut")
        before = setting
        for m, stroke in enumerate(station["strokes"]):
            try:
                if not 0 <= stroke["layout"] < len(saws):
                    raise _Fault("sequence-layout", f"layout {stroke['layout']}", f"layouts 0 to {len(saws) - 1}")
                saws[stroke["layout"]].cut(station, stroke)
            except _Fault as why:
                error(why.args[0], f"{place}.strokes[{m}]", why.args[1], why.args[2])
                return tuple(found)
    for naming in due:
        saws[naming["layout"]].rename(naming["of"], naming["name"])
    for number, saw in enumerate(saws):
        for code, value, limits in saw.ended():
            error(code, f"layout {number}", value, limits)
    return tuple(found)


class _Bench:
    """One board of a layout while it is being cut."""

    def __init__(self, job: Job, plan: Plan, number: int) -> None:
        self.job, self.layout = job, plan.layouts[number]
        self.stock = next(stock for stock in job.stock if stock.id == self.layout.stock)
        whole = _Part(0, self.stock.length, 0, 1 if self.stock.width is None else self.stock.width, True)
        self.parts: dict[str, list[_Part]] = {"board": [whole]}
        self.hand: dict[int, int] = {}
        self.trimmed = [self.stock.end_trim > 0, self.stock.edge_trim > 0]

    def cut(self, station: Mapping[str, Any], stroke: Mapping[str, Any]) -> None:
        """Makes all passes of one written cut. Raises _Fault."""
        if stroke["boards"] != self.layout.times:
            raise _Fault("sequence-boards", f"{stroke['boards']} boards", f"all {self.layout.times}")
        if not self.parts.get(stroke["of"]):
            raise _Fault("sequence-part", f"{stroke['of']!r}", "a part that exists")
        part = self.parts[stroke["of"]].pop()
        along, way, distance = station["along"], station["set"], station["distance"]
        if distance < 1 or stroke["passes"] < 1:
            raise _Fault("sequence-setting", f"{stroke['passes']} passes at {distance}", "at least 1")
        if way == "trim":
            self._trim(part, along, distance, stroke)
        else:
            self._part(part, station, stroke)

    def rename(self, of: str, name: str) -> None:
        """Renames a part. If the part does not exist, a piece is missing, and `ended` reports the piece."""
        parts = self.parts.get(of, [])
        if parts and not any(part.is_left or (part.is_whole and any(self.trimmed)) for part in parts):
            self._put(name, self.parts[of].pop())

    def _trim(self, part: _Part, along: bool, distance: int, stroke: Mapping[str, Any]) -> None:
        if stroke["passes"] != len(stroke["yields"]):
            raise _Fault("sequence-passes", f"{stroke['passes']} passes", f"{len(stroke['yields'])}, one for each trim")
        whole = part.is_whole and list(stroke["yields"]) in (["end"], ["edge", "edge"])
        if whole:
            due = self.stock.edge_trim if along else self.stock.end_trim
            if distance != due or not self.trimmed[along]:
                raise _Fault("sequence-trim", f"{distance} off", f"{due} off, once")
            self.trimmed[along] = False
            if along:
                part.y0, part.y1 = part.y0 + distance, part.y1 - distance
            else:
                part.x0 += distance  # the far end falls off behind the last piece
        else:
            if along:
                raise _Fault("sequence-trim", "an edge", "an end")
            part.x0 += distance
        if part.x0 >= part.x1 or part.width < 1:
            raise _Fault("sequence-size", "no wood left", "some wood left")
        self.parts[stroke["of"]].append(part)

    def _part(self, part: _Part, station: Mapping[str, Any], stroke: Mapping[str, Any]) -> None:
        along, way, distance = station["along"], station["set"], station["distance"]
        if part.is_whole and any(self.trimmed):
            raise _Fault("sequence-trim", "a raw board", "a board with its ends and edges trimmed")
        part.is_whole = False
        kerf = self.job.kerf.rip if along else self.job.kerf.crosscut
        names, passes = list(stroke["yields"]), stroke["passes"]
        if (way == "stop") == along or way not in ("stop", "fence", "remaining", "strip"):
            raise _Fault("sequence-setting", f"{way} {'along' if along else 'across'}", "a setting for that cut")
        if not len(names) - 1 <= passes <= len(names) or (way in ("remaining", "strip") and passes != 1):
            raise _Fault("sequence-passes", f"{passes} passes for {len(names)} parts", "one each, or one fewer")
        for name in names[:passes]:
            extent = part.width if along else part.x1 - part.x0
            off = extent - distance - kerf if way == "remaining" else distance
            if off < 1 or off > extent:
                raise _Fault("sequence-size", f"{off} off {extent}", f"at most {extent}")
            if along:
                self._may_rip(part, off, way)
                part.is_ripped = True
                self._put(name, _Part(part.x0, part.x1, part.y0, part.y0 + off, False, True, part.in_section))
                part.y0 = min(part.y1, part.y0 + off + kerf)
            else:
                in_section = part.in_section or station["phase"] == "section"
                self._put(name, _Part(part.x0, part.x0 + off, part.y0, part.y1, False, part.is_ripped, in_section))
                part.x0 = min(part.x1, part.x0 + off + kerf)
        extent = part.width if along else part.x1 - part.x0
        if passes < len(names):
            if self._is_remainder(part, along):
                raise _Fault("sequence-rule", "a remainder used as a part", "a cut for each part")
            if extent != distance:
                raise _Fault("sequence-size", f"{extent} remains", f"{distance}, the last of the equal parts")
            self._put(names[-1], part)
        elif extent > 0:
            part.is_left = self._is_remainder(part, along)
            self._put(stroke["of"], part)

    def _is_remainder(self, part: _Part, along: bool) -> bool:
        """Whether what remains of a part after this cut is a remainder, that is, neither a piece nor a strip."""
        return self._keeps_remainder() and (along or (part.is_ripped and part.in_section))

    def _keeps_remainder(self) -> bool:
        return self.job.rules.least_remainder is not None and not self.job.cutting.final_trim

    def _put(self, name: str, part: _Part) -> None:
        self.parts.setdefault(name, []).append(part)

    def _may_rip(self, part: _Part, off: int, way: str) -> None:
        rules = self.job.rules
        length = min(part.x1, self.stock.length - self.stock.end_trim) - part.x0
        if not self.stock.rip:
            raise _Fault("sequence-rule", f"a rip in {self.stock.id!r}", "no rips in stock marked not to be ripped")
        for u0, u1 in self.stock.unusable if rules.defects is not None else ():
            if part.x0 < u1 and u0 < part.x1:
                value = f"a rip from {part.x0} to {part.x1}"
                raise _Fault("sequence-rule", value, f"the stretch {u0} to {u1} crosscut away before any rip")
        beside = part.width - off - self.job.kerf.rip
        if self._keeps_remainder() and beside < (rules.least_remainder or 0):
            raise _Fault("sequence-rule", f"{max(0, beside)} left beside a rip", f"at least {rules.least_remainder}")
        if length < (rules.shortest_rip or 0):
            raise _Fault("sequence-rule", f"a rip of {length}", f"at least {rules.shortest_rip} long")
        if rules.longest_rip is not None and length > rules.longest_rip:
            raise _Fault("sequence-rule", f"a rip of {length}", f"at most {rules.longest_rip} long")
        if off < (rules.least_strip or 0):
            raise _Fault("sequence-rule", f"a strip of {off}", f"at least {rules.least_strip} wide")
        narrow = rules.narrow_below is not None and off < rules.narrow_below
        if narrow != (way in ("remaining", "strip")):
            how, limits = ("against", "narrow strips") if narrow else ("away from", "only narrow strips")
            value = f"a {off}-wide strip cut {how} the fence"
            raise _Fault("sequence-rule", value, f"{limits} cut away from the fence")
        if narrow and part.width - off - self.job.kerf.rip < (rules.parent_wood or 0):
            raise _Fault(
                "sequence-rule", f"a narrow rip from {part.width}", f"{rules.parent_wood} left between blade and fence"
            )

    def ended(self) -> list[tuple[str, str, str]]:
        """The differences between the finished parts and the plan."""
        wrong = []
        for trim, name in zip(self.trimmed, ("ends", "edges"), strict=True):
            if trim:
                wrong.append(("sequence-trim", f"{name} left raw", "trimmed"))
        names = {blank.id for blank in self.job.blanks}
        made: Counter[_Place] = Counter()
        pieces = [(name, part) for name in sorted(names) for part in self.parts.get(name, [])]
        for name, part in pieces:
            made[name, part.x0, part.y0, part.x1 - part.x0, part.width] += 1
            for u0, u1 in self.stock.unusable:
                if part.x0 < u1 and u0 < part.x1:
                    wrong.append(("sequence-unusable", f"{name} at {part.x0}..{part.x1}", f"off {u0}..{u1}"))
        wanted: Counter[_Place] = Counter(
            (p.id, p.x, p.y or 0, p.length, 1 if p.width is None else p.width) for p in self.layout.pieces
        )
        for difference, word in ((wanted - made, "missing"), (made - wanted, "too many")):
            for (name, x, y, length, width), count in sorted(difference.items()):
                value = f"{count} x {name!r} {length} x {width} at {x}, {y} {word}"
                wrong.append(("sequence-pieces", value, "the plan's pieces, where the plan has them"))
        return wrong
