"""One customer's packet, made from the plan of the whole batch: what to assemble, pack and place for that customer."""

from woodshop.design.batch import due_dates
from woodshop.documents.fullsize.labels import labels_pdf
from woodshop.documents.lists import parts_csv
from woodshop.documents.packet.assembly import assembly_section
from woodshop.documents.packet.due import BatchDates, date_blocks, due_blocks
from woodshop.documents.packet.exploded_view import first_ready
from woodshop.documents.packet.front import contents_table, made_table, tools_paragraph
from woodshop.documents.packet.mix import mix_chapter
from woodshop.documents.packet.parts import by_mark, parts_list
from woodshop.documents.packet.safety import safety_chapter
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import (
    Beside,
    Block,
    Columns,
    Document,
    Heading,
    KeyFigures,
    KeyValues,
    Paragraph,
    Section,
)
from woodshop.plan.values import PlannedBatch
from woodshop.shape.part import Role
from woodshop.units.wording import in_short

ONLY_NAMES = ("packet.pdf", "labels.pdf", "parts.csv")


def customer_files(
    whole: PlannedBatch, part: PlannedBatch, customer: str, dates: BatchDates | None = None
) -> dict[str, bytes]:
    """The packet, the labels and the parts of one customer. `part` is the customer's part of the `whole` batch.

    `dates` come from the schedule of the whole batch, if any. Raises InputError for content that cannot be drawn or
    printed.
    """
    files = {
        "packet.pdf": write_pdf(customer_packet(whole, part, customer, dates), part.batch.pages.paper),
        "parts.csv": parts_csv(part.cut_before, part.batch.unit),
    }
    labels = None if part.report.has_errors else labels_pdf(part)
    return files if labels is None else files | {"labels.pdf": labels}


def customer_packet(
    whole: PlannedBatch, part: PlannedBatch, customer: str, dates: BatchDates | None = None
) -> Document:
    """The pages for one `customer`, without buying and cutting. Part letters are those of the whole batch's packet."""
    chapters = tuple(
        chapter
        for chapter in (
            _parts(part),
            assembly_section(part),
            mix_chapter(part, whole),
            safety_chapter(part),
        )
        if chapter.blocks
    )
    title = f"{part.batch.pages.title}: {customer}"
    return Document(
        title,
        "Winter hive hardware: assemble, pack and place",
        (_front(part, title, customer, chapters, dates), *chapters),
        footer=f"{part.batch.name}, {customer}",
        banner="DO NOT CUT" if part.report.has_errors else None,
    )


def _figures(part: PlannedBatch) -> dict[str, int]:
    return {
        "hives": sum(group.count for group in part.batch.hives),
        "units to build": sum(line.count for line in part.batch.lines),
        "boards to pack": sum(group.to_pack for group in part.batch.hives if group.board_form == "packed"),
        "pieces": sum(need.count for need in part.cut_before),
    }


def _front(
    part: PlannedBatch, title: str, customer: str, chapters: tuple[Section, ...], dates: BatchDates | None
) -> Section:
    figures = [(name, str(count)) for name, count in _figures(part).items() if count]
    days = due_dates(part.batch.hives)
    if days:
        figures.append(("first due" if len(days) > 1 else "due", in_short(days[0].day)))
    made: tuple[Block, ...] = (Heading(f"Made for {customer}", 2), made_table(part))
    picture = first_ready(part)
    if dates is None:
        when = due_blocks(part.batch, part.units)
    else:
        when = date_blocks(dates, tuple(lot for lot in dates.lots if set(lot.groups) & set(part.batch.hives)))
    run = (
        f"Buy, cut and machine for all customers at once, with the packet of {part.batch.name}. It has the lists, the "
        "cutting pages, the drawings of the parts and the first article. The letters of the parts are the same here."
    )
    return Section(
        title,
        (
            KeyFigures(tuple(figures)),
            *((Beside(picture[:1], (*made, Heading("Numbers in the picture", 3), picture[1])),) if picture else made),
            *when,
            Paragraph(run, lead="Before this."),
            Heading("Contents", 2),
            contents_table(chapters),
            tools_paragraph(part, chapters),
        ),
    )


def _parts(part: PlannedBatch) -> Section:
    """The parts to take from the pieces of the whole batch, by their letters, and the hives that each part is for."""
    needs = sorted(part.cut_before, key=by_mark)
    if not needs:
        return Section("", ())
    said = part.batch.wording
    table = parts_list(needs, said, "take")
    blocks: list[Block] = [
        Paragraph("Take these pieces from the stacks of the whole run, by their letters. They are cut and machined."),
        table if said.both else Columns((table,)),
    ]
    marks = {(need.address.partition(" / ")[0], need.part): need.mark for need in needs}
    hives: dict[str, dict[str, None]] = {}
    for unit in part.units:
        for placed in unit.assembly.with_role(Role.MADE) if unit.line.count else ():
            mark = marks[unit.line.item.name, placed.part]
            hives.setdefault(mark, {})[unit.line.hives.name or unit.line.fits] = None
    by_hives: dict[str, list[str]] = {}
    for need in needs:
        by_hives.setdefault(", ".join(hives[need.mark]), []).append(need.mark)
    if len(by_hives) > 1:
        words = "; ".join(f"{names}: {', '.join(own)}" for names, own in by_hives.items())
        blocks.append(Paragraph(f"{words}.", lead="For which hives:"))
    return Section("Parts to take", tuple(blocks))


def customer_section(part: PlannedBatch, customer: str, folder: str, plan: str) -> Section:
    """The message printed when the packet of this `customer`, made from the file `plan`, is written to `folder`."""
    summed: dict[str, str | int] = {"batch": part.batch.name, "customer": customer, "folder": folder}
    summed |= {name.replace(" ", "_"): count for name, count in _figures(part).items()}
    summed["plan"] = plan
    rows = [(name.replace("_", " "), value) for name, value in summed.items()]
    return Section("", (KeyValues(tuple(rows)),), summed)
