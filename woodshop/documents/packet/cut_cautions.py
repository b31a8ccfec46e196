"""The cautions of the packet for the cuts of one material, and those of them to keep in sight at the saw."""

from collections.abc import Sequence

from woodshop.cutting.order.job_sequence import STOP
from woodshop.cutting.order.sequence import SawCut
from woodshop.design.batch import Batch
from woodshop.design.settings.saw import CIRCULAR_SAW, MITER_SAW, TABLE_SAW
from woodshop.documents.packet.layouts import NumberedLayout
from woodshop.drawing.values.model import Paragraph, page_of
from woodshop.plan.work.cut_tools import hands_away, is_short, saws_of
from woodshop.reference.materials import Material

NAILS = "Look for nails, screws and staples in offcuts, and pull them before any cut."
"""The note for offcuts on hand, given before the first cut."""
ALWAYS_ON = "Eye and ear protection on."
"""What the saw page has in sight at every cut with a saw, beside the rule on gloves."""
_NEVER_HOLD = "Never clamp or hold the piece."
ToolCut = tuple[NumberedLayout, SawCut, str]
"""A cut, with its layout and its tool."""
_GLOVES = "Wear eye protection, and gloves except at a saw or drill."
_UNPLUG = "Unplug the saw before you touch the blade or change its setting."
_AT_SAW = {
    TABLE_SAW: f"stand out of line with the board. Support a long board in front of the saw and behind it. {_UNPLUG}",
    MITER_SAW: f"let the blade stop before you lift it or reach for the piece. Never cross your arms. {_UNPLUG}",
    CIRCULAR_SAW: "keep both hands on the saw and stand beside the line of the cut. Let the blade stop before you put "
    f"the saw down. {_UNPLUG}",
}


def _at_rip(batch: Batch, *, is_narrow: bool) -> list[str]:
    """What a rip at the table saw always asks for."""
    saw, unit = batch.saw, batch.unit
    feather = ", featherboard ahead of the blade" if is_narrow and saw.thin_rip != STOP else ""
    keep = [f"Keep {saw.wood_in_hand.text(unit)} of board between blade and fence."] if is_narrow else []
    return [
        *keep,
        f"Use a push block{feather}, guard and riving knife.",
        f"Do not rip pieces shorter than {saw.shortest_rip.text(unit)}.",
    ]


def _is_rip(cut: SawCut, tool: str) -> bool:
    return cut.along and TABLE_SAW in saws_of(tool)


def in_sight(cuts: Sequence[ToolCut], batch: Batch) -> list[str]:
    """The sentences of the cautions that stay in sight while these cuts of one material are made."""
    material = cuts[0][0].material
    if material.kind.cut_with == "tin snips":
        return [_GLOVES, f"{_edges(material)}."]
    found = []
    if any(_is_rip(cut, tool) for _, cut, tool in cuts):
        found += _at_rip(batch, is_narrow=any(cut.is_narrow for _, cut, _ in cuts))
    if material.is_sawn and any(is_short(lay, cut) for lay, cut, _ in cuts):
        found.append(_NEVER_HOLD)
    if any(tool.startswith(MITER_SAW) for _, _, tool in cuts):
        away = hands_away(cuts[0][0]).text(batch.unit)
        found += [f"Hands {away} or more from the blade.", "Hold up a long board on both sides."]
    if any(tool.startswith(CIRCULAR_SAW) for _, _, tool in cuts):
        found.append("Clamp board and guide, and support both sides of the cut.")
    return found


def of_the_saw(cuts: Sequence[ToolCut]) -> list[Paragraph]:
    """The usual cautions for the power saw of these cuts, for the page at the saw: the packet has a page of them."""
    found = (saw for saw in _AT_SAW if any(saw in saws_of(tool) for _, _, tool in cuts))
    return [Paragraph(_AT_SAW[saw], lead=f"Caution, {saw}:") for saw in found]


def _edges(material: Material) -> str:
    return "Deburr every edge" if material.mesh is None else "File or fold sharp wires and collect the ends"


def cautions_of(cuts: Sequence[ToolCut], batch: Batch) -> list[Paragraph]:
    """The cautions for these cuts of one material, one or two sentences each."""
    saw, unit, material = batch.saw, batch.unit, cuts[0][0].material
    blocks: list[Paragraph] = []
    if any(_is_rip(cut, tool) and not cut.is_narrow for _, cut, tool in cuts):
        text = " ".join(_at_rip(batch, is_narrow=False))
        blocks.append(Paragraph(f"{text[:1].lower()}{text[1:]}", lead="Caution, rips:"))
    if any(cut.is_narrow for _, cut, _ in cuts):
        if saw.thin_rip == STOP:
            how = (
                f"set the thin-rip stop ({page_of('thin-rip-stop')}). For each strip, switch the saw off, move the "
                "fence until the board touches the stop, and lock it."
            )
        else:
            how = (
                "measure every board first. If a board is wider or narrower than planned, its first strip is that "
                "much thicker or thinner. Then correct all narrow settings by the difference. The strip falls free, "
                "on the side of the blade away from the fence."
            )
        text = (
            f"{how} {' '.join(_at_rip(batch, is_narrow=True))} Crosscut strips under {saw.tools.thin_strip.text(unit)} "
            "thick by hand in a miter box. The saw maker's manual comes first."
        )
        blocks.append(Paragraph(text, lead="Caution, narrow rips:"))
    if material.is_sawn and any(is_short(lay, cut) for lay, cut, _ in cuts):
        away = hands_away(cuts[0][0])
        text = (
            f"cut pieces shorter than {away.text(unit)} with a hand saw in a miter box, without a stop. Mark from the "
            "squared end. The short end is the piece: clamp the long part, and keep the saw on that side of the line. "
            f"{_NEVER_HOLD} One exception: where too little is left to clamp for the last piece, cut it from a longer "
            "scrap of the same size, or clamp the piece itself in the miter box and cut with the hand saw only."
        )
        blocks.append(Paragraph(text, lead="Caution, short pieces:"))
    if material.kind.cut_with == "tin snips":
        blocks.append(
            Paragraph(
                f"{_GLOVES[:1].lower()}{_GLOVES[1:]} {_edges(material)}.",
                lead="Caution, sharp edges:",
            )
        )
    if material.kind.cut_with == "knife":
        text = (
            "clamp the straightedge, make light passes, keep the free hand behind the blade, and cut away from the "
            "body."
        )
        blocks.append(Paragraph(text, lead="Caution, knife:"))
    return blocks
