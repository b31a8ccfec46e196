"""The check report: findings in order of weight, like ones together, and what is not checked."""

from collections.abc import Iterable

from woodshop.batch.values import PlannedBatch
from woodshop.drawing.model import Block, Bullets, Column, Heading, Paragraph, Table
from woodshop.findings import Finding, Severity

WORDS = {Severity.ERROR: "DO NOT CUT", Severity.WARNING: "Think first", Severity.NOTE: "Note"}
NOT_CHECKED = (
    "Whether the wood is straight, dry and sound, and whether the box you measured is like the rest.",
    "Sag of the mesh beyond an estimate, swelling and shrinking of the wood, and how true the saw cuts.",
    "Bee space anywhere but between the top bars and the mesh: frames, boxes and covers are yours.",
    "Heat and moisture at the top of the hive, and whether top ventilation suits your place.",
    "Local rules on wood, on feeding and on moving hardware between apiaries.",
)


def grouped(findings: Iterable[Finding]) -> list[tuple[tuple[str, ...], Finding]]:
    """Findings that say the same of several places, together, in the order in which they first came."""
    groups: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        key = (finding.code, finding.severity, finding.value, finding.limits, finding.change)
        groups.setdefault(key, []).append(finding)
    return [(tuple(dict.fromkeys(f.place for f in group)), group[0]) for group in groups.values()]


def report_blocks(planned: PlannedBatch) -> list[Block]:
    """The report, what is not checked, and every default with its source."""
    findings = grouped(planned.report.findings)
    blocks: list[Block] = [Heading("Check report", 1)]
    if findings:
        rows = tuple(
            (WORDS[f.severity], "; ".join(places), f"{f.value}; wanted: {f.limits}", f.change, f.source)
            for places, f in findings
        )
        columns = (
            Column("", weight=2),
            Column("where", weight=3),
            Column("what was found", weight=5),
            Column("what to do", weight=5),
            Column("limits after", weight=4),
        )
        strong = tuple(n for n, (_, f) in enumerate(findings) if f.severity is Severity.ERROR)
        blocks.append(Table(columns, rows, strong))
    else:
        blocks.append(Paragraph("Everything that is checked fits."))
    blocks += [Heading("What is not checked", 2), Bullets(NOT_CHECKED)]
    return blocks


def default_blocks(planned: PlannedBatch) -> list[Block]:
    """Every value that the design did not give, with its source; the same value for several hives stands once."""
    places: dict[tuple[str, str, str], list[str]] = {}
    for d in planned.batch.defaults:
        places.setdefault((d.name.replace("_", " "), d.value, d.source), []).append(d.where)
    rows = tuple((name, value, ", ".join(where), source) for (name, value, source), where in places.items())
    columns = (
        Column("value", weight=3),
        Column("taken", weight=3),
        Column("for", weight=4),
        Column("source", weight=8),
    )
    return [
        Heading("Values that you did not give", 1),
        Paragraph("Each was taken from the table of common values. Give your own in the design or yard file."),
        Table(columns, rows),
    ]
