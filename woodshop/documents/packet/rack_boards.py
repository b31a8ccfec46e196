"""What a cutting page says of a board from the rack before it meets a saw: nails, ends, edges, defects, twist."""

from woodshop.design.batch import Batch
from woodshop.documents.packet.layouts import NumberedLayout
from woodshop.drawing.values.model import Block, Paragraph


def rack_board(layout: NumberedLayout, batch: Batch) -> list[Block]:
    """What to look for and to do first, in the order of the work; nothing for a new board or for what is snipped."""
    if not layout.is_sawn:
        return []
    offer = next(offer for offer in layout.plan.job.offers if offer.id == layout.layout.stock)
    saw, unit = batch.saw, batch.unit
    words = []
    if layout.is_rack:
        words.append("Check for nails, screws and staples, and pull them before any cut.")
    if offer.bad:
        listed = " and ".join(f"{low.number(unit)} to {high.text(unit)}" for low, high in offer.bad)
        words.append(
            f"Bad stretch: {listed} from the end that is squared first, measured before it is squared. It is cut off "
            "before any rip."
        )
    if offer.thickness is not None and not offer.straight_edges:
        off = saw.edge_off(is_straight=False).text(unit)
        words.append(
            f"Its edges are not known to be straight. Clamp a straight guide along it and cut {off} off one edge. "
            f"Then rip {off} off the other edge, the straight edge against the fence. A board without a flat face is "
            "not ripped."
        )
    if offer.twisted:
        words.append("Twisted: crosscut it only, held down flat. Never rip it.")
    return [Paragraph(" ".join(words), lead="This board:")] if words else []
