"""The check report: findings in order of weight, like ones together, and what is not checked."""

from collections.abc import Iterable

from woodshop.design.batch import Batch
from woodshop.design.make_units import place_of
from woodshop.documents.packet.cautions import batch_topics, caution_sources
from woodshop.documents.report.cold_top import HOW_TO_GET_IT
from woodshop.documents.report.explained_findings import FINDINGS
from woodshop.drawing.values.model import Block, Bullets, Column, Heading, KeyValues, Note, Paragraph, Section, Table
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.findings import Finding, Report, Severity
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import group
from woodshop.reference.limits import band

WORDS = {Severity.ERROR: "DO NOT CUT", Severity.WARNING: "Think first", Severity.NOTE: "Note"}
NOT_CHECKED = (
    "Whether the wood is straight, dry and sound, and whether the box you measured is like the rest.",
    "Sag of the mesh, swelling and shrinking of the wood, and how sizes stray, beyond estimates.",
    "Comb that is built crooked, propolis and burr comb that are there, and frames of another make than was given.",
    "How much air flows: areas are measured, and where the way up ends, and no more.",
    "Local rules on wood, on feeding and on moving hardware between apiaries.",
)


def explained_here(report: Report, code: str) -> tuple[Block, ...]:
    """A finding's rule, its numbers in this design, and its sources. Raises InputError for a code not found here."""
    found = [(places, finding) for places, finding in grouped(report.findings) if finding.code == code]
    if not found:
        codes = list(dict.fromkeys(finding.code for finding in report.findings))
        do = f"{did_you_mean(code, codes, '')} For what is not found here see: woodshop explain CODE.".strip()
        raise InputError(Problem("--explain", repr(code), "a code found here: " + (", ".join(codes) or "none"), do))
    text, keys = FINDINGS[code]
    rows = tuple((f"{row.key} = {row.value}", row.what, row.cite) for prefix in keys for row in group(prefix))
    columns = (Column("row of the tables"), Column("what it is"), Column("source"))
    return (
        Heading(code, 2),
        Paragraph(text),
        *(
            Note(
                finding.severity,
                "; ".join(places),
                (
                    finding.value,
                    f"wanted: {finding.limits}",
                    finding.change,
                    *(f"in the design: {path} = {value or '(left out)'}" for path, value in finding.remedy),
                    f"source: {finding.source}",
                ),
            )
            for places, finding in found
        ),
        *((Table(columns, rows),) if rows else ()),
    )


def verdict_line(report: Report) -> str:
    """Whether the hives fit, in one line, with what was found; like findings of several places count once.

    >>> verdict_line(Report(()))
    'It fits: 0 errors, 0 warnings, 0 notes.'
    """
    found = [finding.severity for _, finding in grouped(report.findings, brief=True)]
    counts = [(severity, found.count(severity)) for severity in (Severity.ERROR, Severity.WARNING, Severity.NOTE)]
    lead = (
        "Do not cut"
        if report.has_errors
        else "It fits, but read the warnings"
        if dict(counts)[Severity.WARNING]
        else "It fits"
    )
    return f"{lead}: " + ", ".join(f"{count} {severity}{'' if count == 1 else 's'}" for severity, count in counts) + "."


def grouped(findings: Iterable[Finding], brief: bool = False) -> list[tuple[tuple[str, ...], Finding]]:
    """Findings that say the same of several places, together, in the order in which they first came.

    `brief`: notes whose limits alone differ are together too.
    """
    groups: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        limits = "" if brief and finding.severity is Severity.NOTE else finding.limits
        key = (finding.code, finding.severity, finding.value, limits, finding.change)
        groups.setdefault(key, []).append(finding)
    return [(tuple(dict.fromkeys(f.place for f in group)), group[0]) for group in groups.values()]


def findings_section(report: Report, brief_for: Batch | None = None) -> Section:
    """What was found, findings that say the same of several places together.

    `brief_for` is the batch for which places are shortened; notes then leave out their limits.
    """
    notes = []
    for places, finding in grouped(report.findings, brief=brief_for is not None):
        is_brief = brief_for is not None and finding.severity is Severity.NOTE
        where = places if brief_for is None else places_shortened(places, brief_for)
        found = finding.value if is_brief else f"{finding.value}; wanted: {finding.limits}"
        notes.append(Note(finding.severity, f"{finding.code}: {'; '.join(where)}", (found, finding.change)))
    nothing = Paragraph("Nothing found: everything that is checked fits.")
    return Section("", tuple(notes) or (nothing,), {"findings": [finding.to_json() for finding in report.findings]})


def made_section(batch: Batch, is_brief: bool) -> Section:
    """How many of each thing are made; where it is not brief, of each size, and how the count comes about."""
    if not is_brief:
        return Section("", (KeyValues(tuple((each.address, each.arithmetic) for each in batch.lines)),))
    counts: dict[str, int] = {}
    for line in batch.lines:
        counts[line.item.name] = counts.get(line.item.name, 0) + line.count
    words = ", ".join(f"{name} {count}" for name, count in counts.items())
    return Section("", (Paragraph(f"{words}.", lead="To make:"),))


def findings_chapter(planned: PlannedBatch) -> Section:
    """The report, the band of bee space that was used, what is not checked, and every default with its source."""
    findings = grouped(planned.report.findings)
    chosen, unit = band(planned.batch.conditions.band), planned.batch.unit
    taken = chosen.row.value if unit == "in" else f"{chosen.least.number(unit)} to {chosen.most.text(unit)}"
    blocks: list[Block] = [
        Paragraph(f"Bee space is taken to be {taken} ({chosen.name}; {chosen.cite})."),
    ]
    if findings:
        rows = tuple(
            (
                WORDS[f.severity],
                "; ".join(places_shortened(places, planned.batch)),
                f"{f.value}; wanted: {f.limits}",
                f.change,
                f.source,
            )
            for places, f in findings
        )
        columns = (
            Column("", weight=2),
            Column("where", weight=3),
            Column("what was found", weight=5),
            Column("what to do", weight=5),
            Column("source of the limits", weight=4),
        )
        strong = tuple(n for n, (_, f) in enumerate(findings) if f.severity is Severity.ERROR)
        blocks.append(Table(columns, rows, strong))
    else:
        blocks.append(Paragraph("Everything that is checked fits."))
    blocks += [Heading("What is not checked", 2), Bullets((*NOT_CHECKED, _cold(planned)))]
    topics = batch_topics(planned)
    if topics:
        blocks.append(caution_sources(topics))
    return Section("What the checks found", tuple(blocks))


def places_shortened(places: tuple[str, ...], batch: Batch) -> list[str]:
    """Where a finding is: "every hive" or "every box" in place of the whole list of them."""
    where = "; ".join(places).split("; ")
    named = [place_of(group) for group in batch.hives]
    own = {place: next((name for name in named if place.startswith(name)), place) for place in where}
    if len(named) > 1 and set(named) <= set(own.values()):
        where = ["every hive", *(place for place in where if own[place] not in named)]
    for item in dict.fromkeys(line.item.name for line in batch.lines):
        boxes = {f"{item} / {line.fits}" for line in batch.lines if line.item.name == item}
        if len(boxes) > 1 and boxes <= set(where):
            where = [f"{item} / every box", *(place for place in where if place not in boxes)]
    return where


def _shortened(where: list[str], hives: list[str]) -> list[str]:
    """Places by name; those of every group of hives, where there are several, in two words."""
    if len(hives) < 2 or not set(hives) <= set(where):
        return where
    return ["every hive", *(each for each in where if each not in hives)]


def _cold(planned: PlannedBatch) -> str:
    """What is not checked of the cold; without outside temperatures, how to have it worked out."""
    if planned.batch.conditions.climate is None:
        return f"Heat and moisture at the top of the hive. {HOW_TO_GET_IT}"
    return "Whether top ventilation suits your place: the page on the cold shows what each way does, by an estimate."


def default_chapter(planned: PlannedBatch) -> Section:
    """Every value that the design did not give, with its source; the same value for several hives stands once."""
    places: dict[tuple[str, str, str], list[str]] = {}
    for d in planned.batch.defaults:
        places.setdefault((d.name.replace("_", " "), d.value, d.source), []).append(d.where)
    hives = [group.name for group in planned.batch.hives if group.name]
    rows = tuple(
        (name, value, ", ".join(_shortened(where, hives)), source) for (name, value, source), where in places.items()
    )
    columns = (
        Column("value", weight=3),
        Column("default", weight=3),
        Column("for", weight=4),
        Column("source", weight=8),
    )
    blocks = (
        Paragraph("Each comes from the table of common values. Give your own in the design or lumberyard file."),
        Table(columns, rows, small=True),
    )
    return Section("Defaults: values that you did not give", blocks)
