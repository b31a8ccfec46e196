"""The check report: findings in order of weight, like ones as one, each in plain words, and what is not checked."""

from collections.abc import Iterable

from woodshop.design.batch import Batch
from woodshop.design.make_units import place_of
from woodshop.documents.packet.cautions import batch_topics, caution_sources
from woodshop.documents.report.cold_top import HOW_TO_GET_IT
from woodshop.drawing.values.model import Block, Bullets, Column, Heading, KeyValues, Note, Paragraph, Section, Table
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.findings import Finding, Report, Severity
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import group
from woodshop.reference.limits import band

FINDINGS: dict[str, tuple[str, tuple[str, ...]]] = {
    # code: (the rule, what breaks when it is broken, what to do; keys of the rows, each with the rows below it)
    "parts-overlap": (
        "Two parts of one thing may not claim the same space: measured on the parts as placed. It comes of sizes given "
        "that leave no room for one of them.", ()),
    "gap-not-measured": (
        "Everything between top bars and mesh hangs on the gap from a box's upper edge down to its top bars. Where "
        "none was measured the table's is taken, and boxes differ from it. Lay a straightedge over three hives.",
        ("box.gap_over_top_bars",)),
    "boxes-differ": (
        "Hardware of one size sits on every box of a group. Boxes of a measured file that differ by more than a "
        "harmless overhang at each side want hardware in two sizes.", ("box.overhang_most",)),
    "prices-are-old": (
        "A price holds for some time: the lumberyard file's stale_after says how many days, 90 where it does not. The "
        "age is counted from seen, of the lumberyard or of one price, to the day of buying: on under [buying] of the "
        "design, else the earliest due date of the orders, else on_by. No clock is asked. Read the prices again.", ()),
    "plan-file-disagrees": (
        "woodshop verify works out every count of a plan file from another side. Lines give parts, parts give the "
        "pieces of the plans, layouts give the boards to buy, lines and hives give the goods, and findings give the "
        "exit code. Here two of them differ, so that packet and file can no longer be trusted. Plan again.", ()),
    "plan-file-changed": (
        "A plan file carries a digest of all that is in it. Something was changed after it was written. The digest "
        "shows damage and slips; whoever changes a file on purpose can write a new one. Plan again.", ()),
    "screws-do-not-fit": (
        "A screw must leave thread enough in the second piece, behind the wall that it goes through; in end grain more "
        "than in side grain, for end grain holds less. Too short a screw pulls out when the rim is pried off a hive. "
        "None of the screws of the lumberyard file fits these walls: buy the size named, or add it to that file.",
        ("screw.end_grip", "screw.end_grip_metric", "screw.end_grain_share")),
    "bill-wrong": (
        "A bill of a plan file is worked out again from its purchases and the lumberyard's terms: goods, delivery, tax "
        "and what is paid must come out the same, no order below the lumberyard's least, and no choice of lumberyards "
        "cheaper than the one taken or below its own bound.", ()),
    "ready-made-not-measured": (
        "A thing bought ready-made is taken as it is sold. What was measured is the one that would be made in its "
        "place from the same settings; whether the bought one fits, only holding it to a box tells.", ()),
    "rim-off-the-edge": (
        "A rim, quilt box or feeding shim made to another size than its box stands out over it, or leaves a ledge, by "
        "more than does no harm. See: woodshop sizes.", ("box.overhang_most",)),
    "mesh-unsupported": (
        "Fresh sugar with its water presses a wire bottom down; strips on the top bars carry it. Without them its "
        "wires are no beams: they bend past yield, or sag more than a twentieth of their span, where straight beam "
        "theory ends. What is told then is how far slack wires hang, by a slack that is assumed; where that is more "
        "than the gap the mesh lies on the bars, and stays there when the sugar has set. A warning, for strips may be "
        "at hand.",
        ("mesh.slack", "mesh.wire_modulus", "mesh.wire_yield")),
    "mesh-near-bars": (
        "Between the strips bees must walk from the top bars up through the mesh. Their room is measured from bars to "
        "mesh at every gap given, less what the mesh sags under fresh sugar. Strips carry it only once it has sagged "
        "down to them: thin strips in a wide gap leave no more than their own thickness, less what it sags between. "
        "Under 3/16 in is a warning; less than a worker passes is an error. Raise the mesh, or leave the strips' "
        "thickness to be worked out.",
        ("bee_space.tightest", "opening.queen_excluder.plastic")),
    "mesh-far-from-bars": (
        "In a space wider than bee space bees build burr comb, which ties the board to the frames. Over the band is a "
        "warning, over the outer limit an error. Lower the mesh.",
        ("bee_space.band.most_quoted", "bee_space.tightest", "bee_space.widest")),
    "strip-lifts-rim": (
        "Strips lie on the top bars and carry the mesh. Thicker than the room there is, they lift mesh and rim off the "
        "box, and wind and robbers come in. Over the limit below it is an error.", ("strip.proud_most",)),
    "strip-bows-mesh": (
        "Strips a little proud bow the mesh upward but leave the rim on the box, up to the limit below: a warning.",
        ("strip.proud_most",)),
    "strip-under-void": (
        "The entrance channel and the corner vents are the bees' ways up; a strip across one shuts it.", ()),
    "lane-sealed": (
        "Each lane between two strips must hold a worker and open down between frames: walked by a cube of the least "
        "width that she passes.", ("opening.queen_excluder.plastic",)),
    "bees-cannot-reach": (
        "From between the frames bees must get to the entrance channel, the corner vents and the room over the sugar; "
        "walked through the placed parts by a cube of the least width that a worker passes.",
        ("opening.queen_excluder.plastic",)),
    "bees-get-in": (
        "A quilt's shavings, a feeder's wells and the room under the cover over them are closed to bees; so are vent "
        "holes. Walked as for the places that they should reach.", ("opening.queen_excluder.plastic",)),
    "mice-at-the-entrance": (
        "Your own entrance is higher than the slot said to hold mice, and no guard is made for it. A note.",
        ("opening.mouse_slot",)),
    "mice-get-in": (
        "Something made here is open to mice: tried from outside, with skirt and screens before it.",
        ("opening.mouse_slot",)),
    "too-tight": (
        "Where a quilt box or a feeder lies right over the frames, the way between is held against bee space.",
        ("bee_space.band.most_quoted", "bee_space.tightest")),
    "too-wide": (
        "Where a quilt box or a feeder lies right over the frames, the way between is held against bee space; and the "
        "way up to your own cover, where something made here holds it higher than it would lie without.",
        ("bee_space.band.most_quoted", "bee_space.widest")),
    "ceiling-not-declared": (
        "Gaps are measured up to the parts that an item declares as its ceiling. One that covers more of the hive than "
        "it leaves open, or leaves no way for a worker, and is not declared, would be looked through: an error.",
        ("opening.queen_excluder.plastic",)),
    "air-dead-end": (
        "Air must find a way from the frames up through channel and corner vents, over the sugar, and through what "
        "lies above: followed by a thin cube to which mesh, cloth and shavings are open. Areas and ways only; nothing "
        "is said of how much air flows.", ("rim.head_room",)),
    "top-ventilation-is-disputed": (
        "Whether air should leave at the top of a hive in winter is answered both ways in print; the check says what "
        "these hives do, and neither is taken for you.", ()),
    "dew-over-the-bees": (
        "With outside temperatures under [climate]: the temperature of what the bees look up to, against the dew point "
        "of their air, in the coldest month; by a steady-state estimate through the layers as they stand. A note. "
        "Where the top is open the cover is cold by design, and shavings take its drip. See the page on the cold.",
        ("heat.hive_air", "heat.hive_humidity", "heat.film_up", "heat.film_outside", "heat.sugar", "heat.shavings")),
    "gap-between-boxes": (
        "From the top bars of one box up to the bottom bars of the next: boxes 9 5/8 in high on frames 9 1/8 in deep "
        "leave 1/2 in, whoever made them. A note, for nothing made here changes it.",
        ("bee_space.band.most_quoted", "box.height_deep", "frame.depth_deep")),
    "frames-not-measured": (
        "The frames of some boxes were given, and those of others are the deepest of the table that hang in them. "
        "Spaces under and between these boxes then rest on a guess.", ("frame.depth_deep", "frame.depth_medium")),
    "frames-too-shallow": (
        "The space under the frames of a box, within the box, is so deep that these are not its frames. Bees fill it "
        "with comb. A note where the frames were given, a warning where they are the table's.",
        ("hive.under_frames_most",)),
    "loose-frames": (
        "Frames pushed together leave an inch or so beside them: more than bee space at one wall or both. A note.",
        ("bee_space.band.most_quoted",)),
    "ways-in-the-box": (
        "The other ways of your boxes and frames that lie outside the band: between frames, at their ends, under the "
        "cover. A note.", ("bee_space.band.most_quoted",)),
    "boxes-do-not-match": (
        "Boxes of your own stand out over each other, or leave a joint open. A note.", ("box.overhang_most",)),
    "rim-leaves-a-way": (
        "A wall with nothing under its whole width leaves a way out, for air; as high as a worker passes, for bees and "
        "robbers: an error.", ("opening.queen_excluder.plastic",)),
    "cover-too-small": (
        "The cover's skirt stands in the walls of what it should go over: measured on the placed cover and walls.",
        ("cover.clearance",)),
    "cover-off-the-walls": (
        "Something that stands up past the walls carries the cover, which then leaves a slit all round: a warning, and "
        "an error where a worker passes it.", ("opening.queen_excluder.plastic",)),
    "skirt-over-entrance": (
        "A cover that sits right on the rim, without vent spacers or an inner cover, may hang its skirt before the "
        "upper entrance. Where a worker still passes, under the skirt or behind it, push the cover forward; where none "
        "does, an error. Under a quilt box or a feeder it does not arise.", ("opening.queen_excluder.plastic",)),
    "strip-on-nothing": (
        "A strip that lies on no top bar carries nothing: the frames or the gap given are not those of the box.", ()),
    "mesh-sags": (
        "How far fresh sugar makes the mesh sag below the strips that carry it, against the sag that they may leave: "
        "its wires as beams, ends free to turn, over those strips that they come to rest on; a strip that they never "
        "come down to carries nothing. Where it lies on the bars, an error. Once the sugar has set the block keeps its "
        "shape and bears itself. An estimate, not a promise.",
        ("strip.sag_limit", "mesh.wire_modulus", "mesh.wire_yield", "mesh.slack")),
    "mesh-stops-bees": (
        "A floor of a mesh that workers do not pass starves them under their sugar. What each source says of that mesh "
        "is listed; openings cut in it that a worker passes make it good.",
        ("opening.worker_easy", "mesh.half.passes", "mesh.third.passes", "mesh.quarter.passes", "mesh.eighth.passes")),
    "mesh-lands-short": (
        "Mesh held by staples or in a rabbet wants wood under its edge all round: measured from the sheet to the "
        "inside of the rim. A groove holds it with less.", ("wire_bottom.landing_least",)),
    "mesh-off-wire": (
        "No whole number of cells both reaches the wood and stays within the box, so that a side is cut between two "
        "wires and has stubs: file them, or fold them under.", ()),
    "wood-off-wood": (
        "With the mesh stapled under the rim, the rim sits on crossed wires, not on the box. Staple crowns bed into "
        "the wood when they are driven home; crowns that stand out lift the rim further. A note: it is common, and "
        "bees close the slit. A rabbet avoids it.", ("wire_bottom.lift",)),
    "sugar-too-high": (
        "Bees walk over the sugar under the cover. Less room than the head room wanted is a warning; sugar above the "
        "rim's edge is an error.", ()),
    "density-decides-lumber": (
        "How deep the sugar lies depends on how firmly it is packed, and published recipes differ. At the loosest of "
        "them this rim would have to be taller: weigh a packed box of known size before buying. With a [trial] the rim "
        "is made for sugar as loose as that trial allows, two standard uncertainties off its mean; where the mean "
        "would do with a narrower board, a surer trial is worth its time.",
        ("sugar.density.low_rim", "sugar.density.full_board")),
    "entrance-too-low": (
        "The upper entrance must pass a worker both ways, in height and in width.", ("opening.worker_easy",)),
    "entrance-lets-mice-in": (
        "A slot higher than this is open to mice; at 1/2 in and over it is an error.", ("opening.mouse_slot",)),
    "entrance-below-mesh": (
        "An entrance that begins below the mesh lets bees in under it, not to the sugar and the channel.", ()),
    "entrance-weakens-rim": (
        "The wood over the entrance carries the corner of all that stands above.", ("rim.wood_over_notch",)),
    "block-misses-entrance": (
        "The packing block keeps sugar out of the entrance while it is packed: it has to be as wide as the entrance.",
        ()),
    "vent-in-shavings": (
        "A vent hole of the quilt box that begins below the top of the shavings is stopped by them.", ()),
    "vent-under-skirt": (
        "A telescoping cover's skirt hangs over the box, as it stands on its spacers. A vent hole partly under it is a "
        "warning, with the area that still breathes; all of them wholly under it an error.", ("cover.skirt_depth",)),
    "slit-invites-robbers": (
        "Vent spacers leave a slit under the cover. Wider than this it is said to draw robbers in the season: a "
        "warning as long as a worker does not pass it.", ("vent.slit_clear", "opening.queen_excluder.plastic")),
    "slit-lets-bees-in": (
        "A slit that a worker passes makes a second entrance under the cover: an error.",
        ("vent.slit_clear", "opening.queen_excluder.plastic")),
    "cover-reaches-short": (
        "Lifted by its spacers, the cover's skirt must still reach down over the hive, or wind takes it and rain comes "
        "in.", ("cover.overlap_least",)),
    "spacer-misses-box": (
        "Squares in the cover's corners must bear on the wood of the box; a cover much wider than the box leaves them "
        "hanging.", ()),
    "guard-stops-bees": (
        "A mouse guard whose holes or mesh a worker does not pass shuts the hive: an error.",
        ("opening.worker_easy", "opening.mouse_hole", "mesh.eighth.passes")),
    "guard-lets-mice-in": (
        "Holes larger than those sold against mice are a warning; as wide as a mouse's skull is said to be, an error. "
        "Of mesh, what the sources say decides.",
        ("opening.mouse_hole", "opening.mouse_skull", "opening.mouse_slot.contrary", "mesh.third.passes")),
    "mouse-sources-disagree": (
        "The sources say both that mice pass this opening and that they do not. Both are printed; you decide.",
        ("opening.mouse_hole", "opening.mouse_slot", "mesh.half.passes")),
    "guard-holds-dead-bees": (
        "A fine guard lets the living through and holds back the dead that they carry out: rake the entrance out.",
        ("mesh.quarter.passes",)),
    "guard-holes-blocked": (
        "A row of holes that stands behind the floor or the wall above the entrance is no way through: what is open of "
        "every hole must pass a worker.", ("opening.worker_easy",)),
    "guard-web-thin": (
        "Steel left between two holes, or between a hole and the fold, that bends or tears when it is drilled.",
        ("guard.web_least",)),
    "guard-chokes-entrance": (
        "What the guard leaves open, added up, is held against the whole entrance of an old plan: less is a warning.",
        ("opening.entrance_height", "opening.entrance_length")),
    "guard-leaves-a-way-round": (
        "A guard that does not reach past the entrance at both ends and over its top leaves a way round it.", ()),
    "closing-is-disputed": (
        "Whether a screened bottom is closed for winter is disputed; the other opinion is printed beside ours.",
        ("insert.open_bottom",)),
    "insert-binds": (
        "The insert needs play at each side or it jams when it is wet and dirty; measured on the placed parts.",
        ("insert.play_least",)),
    "cake-too-high": (
        "Bees must get over the cake. Less room than this is a warning, a cake above the rim an error.",
        ("rim.head_room",)),
    "feeder-floor-is-solid": (
        "A top feeder's wells have solid floors: as a quilt it takes up damp only from above. A note.", ()),
    "wells-not-measured": (
        "The wells of the feeder were not measured; what a usual one holds is taken.", ("feeder.well_depth",)),
    # what woodshop verify says of a plan
    "plan-digest": ("The plan was made for another job than the one it is held against.", ()),
    "plan-stock": ("A layout is cut from stock that the job does not have.", ()),
    "plan-times": ("A layout is to be cut less than once.", ()),
    "plan-empty": ("A layout without a piece.", ()),
    "plan-unknown": ("A piece of a name that is no blank of the job.", ()),
    "plan-count": ("More or fewer of a blank than the job asks for, spares not counted.", ()),
    "plan-spare": ("Spares are kept where the job says that surplus is dropped.", ()),
    "plan-stock-count": ("More of a stock used than there is.", ()),
    "plan-cost": ("The cost written is not the sum of what the layouts cost.", ()),
    "plan-bound": ("The bound is below nothing, above the cost, or no sum that prices can make.", ()),
    "plan-gap": ("The gap written is not the cost less the bound.", ()),
    "plan-assurance": ("The word that says how sure the plan is does not go with its bound and gap.", ()),
    "plan-size": ("A piece is laid in another size than its blank has.", ()),
    "plan-rotated": ("A piece is laid across the grain, and its blank may not be turned.", ()),
    "plan-outside": ("A piece lies beyond what is left of the stock once its ends and edges are trimmed.", ()),
    "plan-unusable": ("A piece lies on a stretch of the stock that was marked unusable.", ()),
    "plan-overlap": ("Two pieces claim the same wood.", ()),
    "plan-direction": ("A layout's first cuts run another way than the job allows.", ()),
    "plan-rule": (
        "The pieces can be sawn apart, but a rule of the job is broken. The finding names the rule and its numbers: "
        "wood left in the hand, least strip, shortest and longest rip, wood beside the last rip, defects cut out "
        "before any rip, boards that are never ripped.", ()),
    "plan-kerf": (
        "No cuts from edge to edge, in as many stages as allowed, part the pieces with a kerf between them. An "
        "unusable stretch narrower than the kerf does not make room for the whole kerf.", ()),
    "plan-proof": ("The certificate of the bound does not prove it, reckoned anew in exact whole numbers.", ()),
    # what it says of the cuts in sawing order, replayed at a simulated saw
    "sequence-format": ("The cuts in sawing order are not written as they should be: a key or a value is wrong.", ()),
    "sequence-moves": ("The count of settings is wrong, or one is made for nothing.", ()),
    "sequence-order": ("Boards are trimmed, sectioned, ripped and crosscut in that order; these cuts are not.", ()),
    "sequence-layout": ("A cut is to be made in a layout that the plan does not have.", ()),
    "sizes-vary": (
        "Boxes, frames and what is sawn stray from their sizes, and every gap hangs on some of them. Each gap's chain "
        "of sizes is derived from the hive as it stands, many hives are drawn with their sizes straying, in winter's "
        "damp, and those with a gap of ours outside its limits are counted. The sizes named make most of it: measure "
        "or cut those with more care, or change the design so that the gap lies nearer the middle of its limits.",
        ("tolerance", "moisture")),
    "wood-breaks-limit": (
        "Wood swells across the grain in damp air and shrinks in dry; along it hardly at all. What is made is reckoned "
        "from the day it is cut: from a dry heated shop it swells outdoors. A gap of ours is as wanted when made, and "
        "past its limit by more than a tape shows at one end of the year.",
        ("moisture", "wood.movement_least", "wood.movement_most")),
    "wood-moves": (
        "Boxes and frames swell and shrink across the grain from the day they were measured. A gap of theirs is as "
        "wanted then, and past its limit by more than a tape shows at one end of the year.",
        ("moisture", "wood.movement_least", "wood.movement_most")),
    "sequence-boards": ("A cut is made on more or fewer boards than the layout has.", ()),
    "sequence-part": ("A cut is to be made in a part that is not there, or not there any more.", ()),
    "sequence-setting": ("Fence or stop is set in a way that does not go with the cut.", ()),
    "sequence-passes": ("More or fewer passes than parts that come off.", ()),
    "sequence-size": ("More is to come off a part than is there, or what remains has another size than written.", ()),
    "sequence-trim": ("A board is cut before its ends and edges are trimmed, or trimmed by another amount.", ()),
    "sequence-rule": (
        "A rip against the safety rules: too short, too long, too narrow, against the fence, or too little left in the "
        "hand.", ()),
    "sequence-unusable": ("A piece comes to lie on a stretch of the board that was marked unusable.", ()),
    "sequence-pieces": ("The cuts do not end with exactly the pieces of the plan.", ()),
}  # fmt: skip


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
