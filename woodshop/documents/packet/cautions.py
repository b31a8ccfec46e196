"""Cautions: every topic in full on the safety page, and a one-line reference where the work is done."""

from collections.abc import Iterable

from woodshop.design.batch import Unit
from woodshop.drawing.values.model import Caution, Columns, Paragraph, page_of
from woodshop.plan.lumber_at_home import resawings
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.cut_tools import saws_of, tools_of
from woodshop.reference.cautions import cautions, defer
from woodshop.reference.materials import Material
from woodshop.shape.part import Role, RoundOutline


def caution_line(topic: str, see: str = "See page {}.") -> Paragraph:
    """The first caution of a topic, then `see`, which refers to the page with all cautions of the topic.

    Raises KeyError if the topic has no cautions.
    """
    more = page_of(_anchor(topic), see, defer(topic))
    return Paragraph(f"{cautions(topic)[0].text} {more}", lead=f"Caution, {topic}:")


def caution_lines(topics: Iterable[str], seen: set[str], file: str = "") -> list[Paragraph]:
    """A line for each new topic, and one line for all topics already in `seen`. Adds the new topics to `seen`.

    `file` follows the page numbers if readers may have several files, such as " of this file".
    """
    every = list(topics)
    again = [topic for topic in every if topic in seen]
    lines = [caution_line(topic, f"See page {{}}{file}.") for topic in every if topic not in seen]
    seen.update(every)
    if again:
        more = page_of(_anchor(again[0]), f"page {{}}{file}", "the safety page")
        lines.append(
            Paragraph(f"{', '.join(_SEVERAL.get(each, each) for each in again)}; see {more}.", lead="Cautions:")
        )
    return lines


_SEVERAL = {"narrow rip": "narrow rips", "crosscut": "crosscuts"}


def material_topics(material: Material) -> tuple[str, ...]:
    """The caution topics for cutting a material that is not sawn."""
    tool = material.kind.cut_with
    return (
        *["mesh"] * (material.mesh is not None),
        *["sheet metal"] * (material.mesh is None and tool == "tin snips"),
        *["knife work"] * (tool == "knife"),
    )


def unit_topics(unit: Unit) -> list[str]:
    """The caution topics for work at the bench on this item."""
    made = unit.assembly.with_role(Role.MADE)
    topics = []
    if any(isinstance(cut.outline, RoundOutline) for placed in made for cut in placed.part.cuts):
        topics.append("drilling")
    tools = {placed.part.material.kind.cut_with for placed in made}
    topics += ["mesh"] if any(placed.part.material.mesh is not None for placed in made) else []
    if any(p.part.material.mesh is None and p.part.material.kind.cut_with == "tin snips" for p in made):
        topics.append("sheet metal")
    if "knife" in tools:
        topics.append("knife work")
    if any("staple" in fastener.kind for fastener in unit.assembly.fasteners):
        topics.append("staples")
    return topics


def batch_topics(planned: PlannedBatch) -> list[str]:
    """The caution topics that apply to this batch, in the order of the work."""
    parts = [need.part for each in planned.plans for need in each.job.needs]
    topics = ["table saw", "crosscut"] if any(part.material.is_sawn for part in parts) else []
    resawing = planned.batch.saw.tools.resawing
    topics += resawing.caution_topics if resawing and any(resawings(each) for each in planned.lumber) else ()
    if topics:
        used = [saw for tool in tools_of(planned) for saw in saws_of(tool)]
        topics += [saw for saw in ("circular saw", "hand saw") if saw in used]
    if any(part.on_edge for part in parts):
        topics += ["narrow rip", "hand saw"]
    if {cut.name for part in parts for cut in part.cuts} & {"corner rabbet", "mesh rabbet", "mesh groove"}:
        topics.append("rabbet and groove")
    topics += [topic for unit in planned.units if unit.line.count for topic in unit_topics(unit)]
    if topics:
        topics.append("treated wood")
    if any(hives.is_packed or hives.boards for hives in planned.batch.hives):
        topics += ["food", "lifting", "mite treatment"]
    return list(dict.fromkeys(topics))


def caution_pages(topics: Iterable[str], more: dict[str, str]) -> Columns:
    """Every topic in full, in two columns; `more` holds additions for this batch."""
    return Columns(
        tuple(
            Paragraph(" ".join(_texts(topic, more.get(topic, ""))), f"{topic.capitalize()}.", True, _anchor(topic))
            for topic in topics
        )
    )


def caution_sources(topics: Iterable[str]) -> Paragraph:
    """The sources of the cautions."""
    cites = dict.fromkeys(caution.cite for topic in topics for caution in cautions(topic))
    return Paragraph(f"{'; '.join(cites)}.", lead="Sources of the cautions:", small=True)


def _texts(topic: str, more: str) -> list[str]:
    return [*(caution.text for caution in cautions(topic)), *filter(None, [more]), defer(topic)]


def _anchor(topic: str) -> str:
    return f"caution-{topic.replace(' ', '-')}"


def caution_box(topic: str) -> Caution:
    """A topic in full in a heavy frame, for a sheet that leaves the packet."""
    return Caution(" ".join(_texts(topic, "")), topic.capitalize())
