"""The tool for each cut, and a description of the cut in trade terms, for the packet, the saw page and the days."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from woodshop.cutting.model.job import Stock
from woodshop.cutting.model.plan import Layout
from woodshop.cutting.order.job_sequence import STOP, Station, StationCut, ThinRip
from woodshop.cutting.order.sequence import SawCut, saw_cuts, sizes_on_the_saw
from woodshop.design.batch import Batch
from woodshop.design.lumberyard.lumberyard_file import Offer
from woodshop.design.settings.saw import CARRIED, CIRCULAR_SAW, GUIDED, HAND_PLANE, HAND_SAW, TABLE_SAW, THEN, Tools
from woodshop.plan.values import MaterialPlan, PlannedBatch
from woodshop.reference.facts import fact
from woodshop.reference.materials import Material
from woodshop.units.lengths import Length


class CutLayout(Protocol):
    """The layout whose cuts are asked about, its plan, and its material."""

    @property
    def plan(self) -> MaterialPlan:
        """The plan of its material."""

    @property
    def layout(self) -> Layout:
        """Its pieces on the board."""

    @property
    def material(self) -> Material:
        """What is cut."""

    @property
    def raw(self) -> str:
        """The name of the stock in the shop."""


@dataclass(frozen=True, slots=True)
class PlannedLayout:
    """A layout of a plan, before it has a number in the packet."""

    plan: MaterialPlan
    layout: Layout

    @property
    def material(self) -> Material:
        """What is cut."""
        return self.plan.job.material

    @property
    def raw(self) -> str:
        """The name of the stock in the shop."""
        return self.material.form.value


def is_short(layout: CutLayout, cut: SawCut) -> bool:
    """Whether a crosscut makes pieces so short that a hand or a stop would be too close to the blade."""
    is_crosscut = not cut.along and cut.kind != "trim" and bool(cut.count)
    return is_crosscut and layout.plan.job.grid * cut.setting < hands_away(layout)


def hands_away(layout: CutLayout) -> Length:
    """How far hands stay from the blade, in the unit of the design that was planned."""
    return fact("saw.hands_away").length_in("mm" if layout.plan.job.job.unit.endswith("mm") else "in")


def tools_for(layout: CutLayout, cuts: Sequence[SawCut], batch: Batch) -> dict[SawCut, str]:
    """The tool for every cut of a layout. `cuts` are all cuts of the layout, in order."""
    return _tools_out_of(layout, cuts, batch.saw.tools)


def other_tools(layout: CutLayout, cuts: Sequence[SawCut], batch: Batch) -> dict[SawCut, tuple[str, ...]]:
    """The tools of the design that could make each cut of a layout instead of that in `tools_for`, best first."""
    tools = batch.saw.tools
    first = _tools_out_of(layout, cuts, tools)
    ways = [
        _tools_out_of(layout, cuts, replace(tools, crosscut_with=(saw,))) for saw in (*tools.crosscut_with, HAND_SAW)
    ]
    if CIRCULAR_SAW in tools.crosscut_with:
        ways.append(first | {cut: GUIDED for cut in cuts if cut.kind == "trim" and cut.along})
    return {
        cut: tuple(dict.fromkeys(way[cut] for way in ways if saw_of(way[cut]) != saw_of(first[cut]))) for cut in cuts
    }


def saw_of(tool: str) -> str:
    """The tool without what is used with it: "circular saw, guide" is a "circular saw"."""
    return tool.partition(",")[0].partition(THEN)[0]


def saws_of(tool: str) -> tuple[str, ...]:
    """All saws of a cut: two where one makes the first edge of a board and the other the second."""
    return tuple(saw_of(each) for each in tool.split(THEN))


_EDGES = {
    TABLE_SAW: "lay the straighter edge against the fence and rip the other edge. Then turn the board and rip the "
    "second edge, with the sawn edge against the fence",
    f"{GUIDED}{THEN}{TABLE_SAW}": "cut the first edge with the circular saw along a clamped guide. Then rip the second "
    "edge parallel with it on the table saw, with the first edge against the fence",
    GUIDED: "cut both edges with the circular saw along a clamped guide, the second parallel with the first",
    CARRIED: "fasten the board on a straight carrier board, with one of its edges over the side of the carrier. Run "
    "the carrier along the fence and rip that edge. Take the carrier off and rip the second edge, with the first edge "
    "against the fence",
    HAND_PLANE: "straighten both edges with a hand plane, the second parallel with the first",
}


def how_to_true(tool: str) -> str:
    """How both edges of a board are trued with this tool, as an order in lower case without a full stop."""
    return _EDGES[tool]


def tool_for_edges(layout: CutLayout, tools: Tools) -> str:
    """The tool that trues both edges of the boards of a layout, if they are trued."""
    offer = _offer(layout)
    stock, rules = _stock(layout), layout.plan.job.job.rules
    long = stock.length - stock.end_trim * 2
    is_long = rules.longest_rip is not None and long > rules.longest_rip
    may_rip = not offer.twisted and long >= (rules.shortest_rip or 0)
    return tools.for_edges(is_straight=offer.straight_edges, is_long=is_long, may_rip=may_rip)


def _tools_out_of(layout: CutLayout, cuts: Sequence[SawCut], tools: Tools) -> dict[SawCut, str]:
    if not layout.material.is_sawn:
        return dict.fromkeys(cuts, layout.material.kind.cut_with)
    job = layout.plan.job
    stock, thickness = _stock(layout), _offer(layout).thickness
    found = {}
    for cut, size in zip(cuts, sizes_on_the_saw(stock, cuts), strict=True):
        length, width = (job.grid * each for each in size)
        if not layout.material.is_lumber:
            found[cut] = tools.for_sheet(length, width, is_along=cut.along)
        elif cut.along:
            found[cut] = tool_for_edges(layout, tools) if cut.kind == "trim" else TABLE_SAW
        elif is_short(layout, cut):
            found[cut] = f"{HAND_SAW}, miter box"
        else:
            found[cut] = tools.for_crosscut(length, width, width if thickness is None else thickness)
    return found


def _stock(layout: CutLayout) -> Stock:
    return next(each for each in layout.plan.job.job.stock if each.id == layout.layout.stock)


def _offer(layout: CutLayout) -> Offer:
    return next(offer for offer in layout.plan.job.offers if offer.id == layout.layout.stock)


def cuts_by_tool(station: Station, tools: Sequence[Mapping[SawCut, str]]) -> dict[str, list[StationCut]]:
    """The cuts of one setting of the saw by tool, in sawing order. `tools` are those of `tools_for` for each layout."""
    found: dict[str, list[StationCut]] = {}
    for each in station.strokes:
        found.setdefault(tools[each.layout][each.saw_cut].removesuffix(", supported"), []).append(each)
    return found


def deed(layout: CutLayout, cut: SawCut, thin_rip: ThinRip, tool: str) -> str:
    """The operation and its tool in trade terms. A cut without a stop is marked on the board."""
    if not layout.material.is_sawn:
        if tool == "tin snips":
            return f"Snip {'lengthwise' if cut.along else 'across'}, {tool}"
        return f"Cut {'along' if cut.along else 'across'} the {layout.raw}, {tool}"
    if cut.kind == "trim":
        if cut.yields == ("end",):
            return f"Square one end, {tool}"
        if cut.yields == ("waste",):
            off = "Cut off bad stretch" if _stock(layout).unusable else "Cut off waste or offcut"
            return f"{'Trim the edge' if cut.along else off}, {tool}"
        return f"{'True both edges' if cut.along else 'Square both ends'}, {tool}"
    if cut.is_narrow:
        return f"Rip, {tool}, {'thin-rip stop' if thin_rip == STOP else 'strip falls free'}"
    if cut.along:
        return f"Rip, {tool}"
    if has_no_stop(tool) or is_short(layout, cut):
        return f"Mark, crosscut, {tool}"
    return f"Crosscut, {tool} with stop" if "," not in tool else f"Crosscut, {tool}"


def tools_of(planned: PlannedBatch) -> tuple[str, ...]:
    """The tools with which the wood of a batch is cut, in the order in which they are first needed."""
    found: dict[str, None] = {}
    for plan in planned.plans:
        if plan.job.material.is_sawn:
            for layout in plan.plan.layouts:
                own = tools_for(PlannedLayout(plan, layout), saw_cuts(plan.job.job, layout), planned.batch)
                found |= dict.fromkeys(own.values())
    return tuple(found)


def has_no_stop(tool: str) -> bool:
    """Whether cuts with this tool are marked on the board, because no stop block can be set."""
    return tool.startswith(CIRCULAR_SAW) or tool == HAND_SAW
