"""Cautions: each topic in full once, on the safety page, and the one line that leads there from where work is done."""

from collections.abc import Iterable, Iterator

from woodshop.design.batch import Unit
from woodshop.drawing.values.model import Beside, Block, Caution, Heading, Paragraph, page_of
from woodshop.plan.values import PlannedBatch
from woodshop.reference.cautions import cautions, defer
from woodshop.shape.part import Role, RoundOutline


def caution_line(topic: str) -> Paragraph:
    """The first caution of a topic, and the page of all of them. Raises KeyError for a topic without cautions."""
    more = page_of(_anchor(topic), "All of them: page {}.", defer(topic))
    return Paragraph(f"{cautions(topic)[0].text} {more}", lead=f"Caution, {topic}:")


def unit_topics(unit: Unit) -> list[str]:
    """What to be careful of at the bench, for this item."""
    made = unit.assembly.with_role(Role.MADE)
    topics = []
    if any(isinstance(cut.outline, RoundOutline) for placed in made for cut in placed.part.cuts):
        topics.append("drilling")
    tools = {placed.part.material.kind.cut_with for placed in made}
    if "tin snips" in tools:
        topics.append("sheet metal and mesh")
    if "knife" in tools:
        topics.append("knife work")
    if any("staple" in fastener.kind for fastener in unit.assembly.fasteners):
        topics.append("staples")
    return topics


def batch_topics(planned: PlannedBatch) -> list[str]:
    """The topics that the work of this batch touches, in the order of the work."""
    parts = [need.part for each in planned.plans for need in each.job.needs]
    topics = ["table saw", "crosscut"] if any(part.material.is_sawn for part in parts) else []
    if any(part.on_edge for part in parts):
        topics.append("narrow rip")
    if {cut.name for part in parts for cut in part.cuts} & {"corner rabbet", "mesh rabbet", "mesh groove"}:
        topics.append("rabbet and groove")
    topics += [topic for unit in planned.units if unit.line.count for topic in unit_topics(unit)]
    if topics:
        topics.append("treated wood")
    if any(hives.is_packed or hives.boards for hives in planned.batch.hives):
        topics += ["food", "lifting", "mite treatment"]
    return list(dict.fromkeys(topics))


def caution_pages(topics: Iterable[str], more: dict[str, str]) -> list[Block]:
    """Every topic in full, in two columns that are about as long; `more` is what this batch adds to a topic."""
    rows: list[list[tuple[str, str]]] = []  # the topic that begins, or nothing, and one of its cautions
    for topic in topics:
        texts = _texts(topic, more.get(topic, ""))
        entries = list(zip((topic, *[""] * (len(texts) - 1)), texts, strict=True))
        if not rows or sum(map(_size, (*rows[-1], *entries))) > _ROW:
            rows.append([])
        rows[-1] += entries
    blocks: list[Block] = []
    for row in rows:
        half, filled = sum(map(_size, row)) / 2, 0.0
        sides: tuple[list[tuple[str, str]], list[tuple[str, str]]] = ([], [])
        for each in row:
            sides[filled + _size(each) / 2 > half].append(each)
            filled += _size(each)
        blocks.append(Beside(tuple(_column(sides[0])), tuple(_column(sides[1]))))
    return blocks


_HEADING = 120  # letters for which a heading takes the room
_ROW = 1_500  # letters side by side that stay on one page; a topic more begins a new row


def _size(entry: tuple[str, str]) -> int:
    return len(entry[1]) + _HEADING * bool(entry[0])


def _column(entries: Iterable[tuple[str, str]]) -> Iterator[Block]:
    """A heading where a topic begins, and the cautions below it as one paragraph."""
    texts: list[str] = []
    for topic, text in entries:
        if topic and texts:
            yield Paragraph(" ".join(texts), small=True)
            texts = []
        if topic:
            yield Heading(topic.capitalize(), 3, _anchor(topic))
        texts.append(text)
    if texts:
        yield Paragraph(" ".join(texts), small=True)


def caution_sources(topics: Iterable[str]) -> Paragraph:
    """Where the cautions come from."""
    cites = dict.fromkeys(caution.cite for topic in topics for caution in cautions(topic))
    return Paragraph(f"{'; '.join(cites)}.", lead="Sources of the cautions:", small=True)


def _texts(topic: str, more: str) -> list[str]:
    return [*(caution.text for caution in cautions(topic)), *filter(None, [more]), defer(topic)]


def _anchor(topic: str) -> str:
    return f"caution-{topic.replace(' ', '-')}"


def caution_box(topic: str) -> Caution:
    """A topic in full in a heavy frame, for a sheet that goes without the packet."""
    return Caution(" ".join(_texts(topic, "")), topic.capitalize())
