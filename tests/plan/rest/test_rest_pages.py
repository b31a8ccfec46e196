"""What the pages of a rest say: of pieces already cut, of goods not bought, of boards by the names of the buy list."""

from dataclasses import replace

from tests.plan.rest.small_run import SmallRun
from woodshop.documents.packet.parts import parts_section
from woodshop.drawing.pens.text import section_text
from woodshop.plan.rest.progress import LayoutCut, Progress


def test_pieces_already_cut_are_machined_too(small_run: SmallRun) -> None:
    """The whole plan and its rest machine the same pieces, whatever was cut; the part list has only those to cut."""

    def made(found: object) -> list[str]:
        return [line for line in section_text(parts_section(found)).splitlines() if "(make " in line]

    whole = made(small_run.rest(Progress()).rest)
    number, (material, n) = next(iter(small_run.earlier.layouts.items()))
    some = LayoutCut(number, small_run.earlier.plans[material].layouts[n].times)
    for cut in ((some,), small_run.cut(1, 1)):
        found = small_run.rest(Progress(cut=cut)).rest
        assert whole
        assert made(found) == whole
        assert "Cut already" in section_text(parts_section(found))
