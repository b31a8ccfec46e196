"""The check report: findings in order of severity, with identical findings combined, and what is not checked."""

from collections.abc import Iterable
from dataclasses import dataclass

from woodshop.design.batch import Batch
from woodshop.design.make_units import place_of
from woodshop.documents.packet.cautions import batch_topics, caution_sources
from woodshop.documents.report.cold_top import how_to_get_it
from woodshop.drawing.values.model import Block, Bullets, Column, Heading, KeyValues, Note, Paragraph, Section, Table
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.findings import Finding, Report, Severity
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import group
from woodshop.reference.limits import band
from woodshop.units.lengths import unit_of_lengths
from woodshop.units.wording import wording_of

FINDINGS: dict[str, tuple[str, tuple[str, ...]]] = {
    # code: (what is wrong, why it matters, what to do; keys of the facts, each with the rows below it)
    "parts-overlap": (
        "Two parts of one item take up the same space. The parts cannot be put together. Change the sizes of this "
        "item until the parts no longer overlap.", ()),
    "gap-not-measured": (
        "The gap from a box's top edge down to its top bars was not measured, so a default is used. Boxes differ, and "
        "the bee space under the mesh depends on this gap. Measure it under a straightedge on each of three hives.",
        ("box.gap_over_top_bars",)),
    "cover-not-measured": (
        "No cover is published for this pattern of hive, and yours was not measured, so an American one is assumed. "
        "Its skirt and clearance decide which vents stay open and what fits under the cover. Measure yours.",
        ("cover.skirt_depth", "cover.clearance")),
    "boxes-differ": (
        "The boxes in a measured-box file differ too much for hardware of one size. On some of them a rim would "
        "overhang or leave a ledge. Sort the boxes by width and make hardware for each size.", ("box.overhang_most",)),
    "prices-are-old": (
        "Some prices are older than the lumberyard file allows (stale_after, or 90 days without it). The total may be "
        "wrong. Check the prices, then set the seen date in the lumberyard file. The age is counted up to the day of "
        "buying: the on setting under [buying], or else the earliest due date of the orders, or else the on_by "
        "setting. Woodshop does not use the computer's date.", ()),
    "plan-file-disagrees": (
        "Two counts in a plan file disagree. Woodshop counts parts, boards, goods and hives again with independent "
        "code, and the results must match. Do not build from this file or its packet. Plan again.", ()),
    "plan-file-changed": (
        "A plan file was changed after it was written, so its digest no longer matches. The digest catches damage and "
        "accidental edits, not forgery. Plan again.", ()),
    "rest-not-conserved": (
        "A plan made with --rest does not match its earlier plan: a piece or board is missing or counted twice, or the "
        "plan was made from another earlier plan. You could cut too few parts. Plan the rest again.", ()),
    "schedule-disagrees": (
        "A schedule file contradicts itself. Woodshop replays it with independent code: each activity is booked once, "
        "in working hours, by someone with the skill, after the work that it needs; no person or equipment is used "
        "twice at once; and the goals are counted again. Do not work from this file or its pages. Schedule again.", ()),
    "schedule-changed": (
        "A schedule file was changed after it was written, so its digest no longer matches. The digest catches damage "
        "and accidental edits, not forgery. Schedule again.", ()),
    "screws-do-not-fit": (
        "No screw in the lumberyard file is long enough for these walls. A screw needs thread in the second piece, and "
        "more of it in end grain, or it pulls out when the rim is pried off a hive. Buy the size named, or add it to "
        "the lumberyard file.",
        ("screw.end_grip", "screw.end_grip_metric", "screw.end_grain_share")),
    "book-entry-not-used": (
        "The shop's book has an entry that this design does not use: no name in the design matches, or it lists more "
        "than the hives need. It is not counted. Correct the name in the book, or leave it for another batch.", ()),
    "not-in-the-book": (
        "The design or the lumberyard file lists something on hand or ordered that is not in the book. With a book, "
        "only the book counts, so this is not used. Enter it in the book, or remove it from the file.", ()),
    "bill-wrong": (
        "A bill in a plan file does not add up. Goods, delivery, tax and total are calculated again from the purchases "
        "and each lumberyard's terms, and the choice of lumberyards is compared with its lower bound. Plan again.", ()),
    "ready-made-not-measured": (
        "An item is bought ready-made. Only the one you would make was checked, and the bought one may differ. Try one "
        "on a box before you buy the rest.", ()),
    "rim-off-the-edge": (
        "A rim, quilt box or feeding shim is not the size of its box. It overhangs, or leaves a ledge that catches "
        "rain. Make the item the size of its box. To list the sizes, run: woodshop sizes.", ("box.overhang_most",)),
    "mesh-unsupported": (
        "A wire bottom has no strips under it. Fresh sugar bends the wires and presses the mesh down on the frames. "
        "The sag shown is that of slack wires. Make spacer strips, unless you have strips that fit.",
        ("mesh.slack", "mesh.wire_modulus", "mesh.wire_yield")),
    "mesh-near-bars": (
        "There is too little space between the top bars and the mesh under fresh sugar. Bees walk there to reach the "
        "food. A gap under 3/16 in is a warning; a gap too small for a worker bee is an error. Raise the mesh, or "
        "delete the strips' thickness setting so that woodshop calculates it.",
        ("bee_space.tightest", "opening.queen_excluder.plastic")),
    "mesh-far-from-bars": (
        "There is too much space between the top bars and the mesh. Bees fill it with burr comb, which glues the board "
        "to the frames. Lower the mesh. A gap over bee space is a warning; one over the wider limit is an error.",
        ("bee_space.band.most_quoted", "bee_space.tightest", "bee_space.widest")),
    "strip-lifts-rim": (
        "The strips are thicker than the space over the top bars. They lift the rim off the box, and wind and robbers "
        "get in. Make the strips thinner, or raise the mesh.", ("strip.proud_most",)),
    "strip-bows-mesh": (
        "The strips are slightly thicker than the space over the top bars. They bow the mesh upward, but the rim still "
        "sits on its box. Make the strips thinner.",
        ("strip.proud_most",)),
    "strip-under-void": (
        "A strip lies across the entrance channel or a corner vent. It blocks the bees' path up. Move the strip, use "
        "fewer strips, or turn the packing blocks.", ()),
    "lane-sealed": (
        "Bees cannot use a lane between two strips. A worker bee must fit in the lane and get down between the frames. "
        "Raise the mesh, or use fewer strips.", ("opening.queen_excluder.plastic",)),
    "bees-cannot-reach": (
        "Bees cannot get from the frames to the entrance channel, the corner vents or the space over the sugar. They "
        "could starve below their food. Remove whatever blocks the path: a strip, fine mesh, or too much sugar.",
        ("opening.queen_excluder.plastic",)),
    "bees-get-in": (
        "Bees can get into a place meant to be closed: shavings, a feeder's wells, the space under the cover or a vent "
        "hole. Bees would be trapped there or lost from the hive. Close the opening with 1/8 in mesh or cloth.",
        ("opening.queen_excluder.plastic",)),
    "mice-at-the-entrance": (
        "The entrance of your bottom board is tall enough to admit mice. A mouse in the hive ruins comb all winter. "
        "Make a mouse guard, or fit an entrance reducer.",
        ("opening.mouse_slot",)),
    "mice-get-in": (
        "A mouse can get in through an opening in the hardware of this batch. It would nest in the hive all "
        "winter. Close the opening with 1/4 in mesh or finer.",
        ("opening.mouse_slot",)),
    "too-tight": (
        "The gap between the frames and a quilt box or feeder above them is under bee space. Bees close it with "
        "propolis. Raise the part above with a shim.",
        ("bee_space.band.most_quoted", "bee_space.tightest")),
    "too-wide": (
        "The gap between the frames and a quilt box or feeder above is over bee space. Bees fill the gap with comb. "
        "Raise the frames, or lower the part above. If a part made here holds your cover too high, reduce that "
        "height as well.",
        ("bee_space.band.most_quoted", "bee_space.widest")),
    "ceiling-not-declared": (
        "A part covers the frames, but its item does not name it as a ceiling. Gaps would be measured past it, and the "
        "results would be wrong. This is a fault in how the item is programmed, not in your design. Please report it. "
        "Developers: add the part to ceiling in the item's Place.",
        ("opening.queen_excluder.plastic",)),
    "air-dead-end": (
        "The air path from the frames up through the board is blocked. Damp air then stays over the bees. Clear the "
        "path; a taller rim helps where the sugar reaches the floor above. Openings are measured; airflow is not.",
        ("rim.head_room",)),
    "top-ventilation-is-disputed": (
        "Published sources disagree about whether a winter hive should let air out at the top. This note shows "
        "what your hives do. Ask what works locally.", ()),
    "dew-over-the-bees": (
        "In the coldest month under [climate], moisture condenses on a surface over the bees and may drip on them. "
        "This is a steady-state estimate. Use deeper shavings, or insulate under the cover. See the report's page on "
        "the top of the hive in winter.",
        ("heat.hive_air", "heat.hive_humidity", "heat.film_up", "heat.film_outside", "heat.sugar", "heat.shavings")),
    "gap-between-boxes": (
        "The gap between the frames of two boxes is outside bee space. Bees bridge a wide gap with comb and seal a "
        "tight one with propolis. Nothing in the batch changes this gap: 9 5/8 in boxes with 9 1/8 in frames always "
        "leave 1/2 in.",
        ("bee_space.band.most_quoted", "box.height_deep", "frame.depth_deep")),
    "frames-not-measured": (
        "Frame depths are given for some boxes only; the others use a default. The gaps between these boxes may be "
        "wrong. Measure a frame from each box.", ("frame.depth_deep", "frame.depth_medium")),
    "frames-too-shallow": (
        "The space under the frames is so deep that the frames were probably not made for this box. Bees build comb "
        "in it. Measure a frame from each box and set frame_depth.",
        ("hive.under_frames_most",)),
    "loose-frames": (
        "The space beside the outer frames is outside bee space. Bees build comb in a wide space and close a tight one "
        "with propolis. Center the frames. If the space is too wide on both sides, add a follower board.",
        ("bee_space.band.most_quoted",)),
    "ways-in-the-box": (
        "Other gaps in your own boxes are outside bee space: between frames, at their ends or under the cover. Bees "
        "glue or bridge them. The table of gaps shows where they are.", ("bee_space.band.most_quoted",)),
    "boxes-do-not-match": (
        "Your own boxes do not line up. Edges catch rain, and a joint may stay open. Stack boxes of one size, and tape "
        "an open joint.", ("box.overhang_most",)),
    "rim-leaves-a-way": (
        "A wall does not rest on the box along its full width. Air gets in. If the gap is wide enough for a worker "
        "bee, robbers can get in too, and the finding is an error. Make the item to the box's size.",
        ("opening.queen_excluder.plastic",)),
    "cover-too-small": (
        "The cover does not fit over the walls below it, so it cannot close the hive. Make the rim smaller, or measure "
        "the inside of the cover again.",
        ("cover.clearance",)),
    "cover-off-the-walls": (
        "Something higher than the walls holds the cover up. The slit all around lets in wind, and robbers too if a "
        "worker bee fits. Lower the part that is too high, or make the walls taller.",
        ("opening.queen_excluder.plastic",)),
    "skirt-over-entrance": (
        "The cover's skirt hangs in front of the upper entrance. The finding is an error if no worker bee can get "
        "past. Push the cover forward, raise it on vent spacers, or make the rim taller.",
        ("opening.queen_excluder.plastic",)),
    "strip-on-nothing": (
        "A strip does not rest on any top bar, so it carries nothing. The frames or the gap given do not match the "
        "box. Check both.", ()),
    "mesh-sags": (
        "Fresh sugar makes the mesh sag too far between its strips. Bees then lack space. The finding is an error if "
        "the mesh touches the bars. Use more strips, stiffer mesh or less sugar. Sag is an estimate for wires with "
        "free ends.",
        ("strip.sag_limit", "mesh.wire_modulus", "mesh.wire_yield", "mesh.slack")),
    "mesh-stops-bees": (
        "Worker bees cannot get through the mesh of the wire bottom. The colony would starve under its sugar. Choose "
        "a coarser mesh, or cut openings in the mesh for the bees.",
        ("opening.worker_easy", "mesh.half.passes", "mesh.third.passes", "mesh.quarter.passes", "mesh.eighth.passes")),
    "mesh-lands-short": (
        "Too little of the mesh's edge rests on wood. Staples or a rabbet cannot hold it under the weight of the "
        "sugar. Make the mesh wider, or use a groove, which needs less.", ("wire_bottom.landing_least",)),
    "mesh-off-wire": (
        "No whole number of cells fits, so one side of the mesh is cut between two wires. The cut ends are sharp. "
        "File the ends, or fold them under.", ()),
    "wood-off-wood": (
        "The rim rests on its mesh, not on the box. The wires leave a slit, which bees seal with propolis. Drive "
        "every staple home. A rabbet avoids the slit.", ("wire_bottom.lift",)),
    "sugar-too-high": (
        "There is too little space over the sugar. Bees must be able to walk there. Sugar above the rim is an error. "
        "Make the rim taller, or pack less sugar.", ()),
    "density-decides-lumber": (
        "A looser mix of sugar would need a taller rim, and so wider lumber or another rip. Recipes differ in "
        "density. Weigh a packed box of known size before you buy, and enter the result under [trial]. The rim then "
        "has a margin of two standard uncertainties.",
        ("sugar.density.low_rim", "sugar.density.full_board")),
    "wall-is-ripped": (
        "Every board that is wide enough is much wider than a wall needs. A rim or box as high as that board is wide "
        "would be far too high, so its walls are ripped to the height needed. Give a height if you want another one.",
        ("wall.wider_than_needed",)),
    "entrance-too-low": (
        "The upper entrance is too small for a worker bee. Bees cannot use it. Make the entrance taller or wider.",
        ("opening.worker_easy",)),
    "entrance-lets-mice-in": (
        "The upper entrance is tall enough to admit mice. A height of 1/2 in or more is an error. Make the entrance "
        "lower, or bend a strip of mesh over it.", ("opening.mouse_slot",)),
    "entrance-below-mesh": (
        "The upper entrance starts below the mesh. Bees come in under the board, not at the sugar. Raise the entrance.",
        ()),
    "entrance-weakens-rim": (
        "Too little wood is left above the upper entrance. That wood carries the weight above and could break. Lower "
        "the entrance, or make the rim taller.", ("rim.wood_over_notch",)),
    "no-packing-blocks": (
        "Boards are packed with sugar, and the batch makes no packing blocks. Without them, sugar fills the entrance "
        "channel and the corner vents. Add the blocks to what is made, or use blocks that you have.", ()),
    "block-misses-entrance": (
        "The entrance is wider than the packing block. Sugar gets into the entrance while you pack. Make the entrance "
        "no wider than the block, or run the channel along the front.",
        ()),
    "vent-in-shavings": (
        "A vent hole of the quilt box starts below the top of the shavings. Shavings block it. Use a thinner layer of "
        "shavings, or a taller box.", ()),
    "vent-under-skirt": (
        "The cover's skirt hides part of the vent holes. Less damp air gets out. The finding is an error if all holes "
        "are hidden. Make the quilt box taller, or the holes smaller.", ("cover.skirt_depth",)),
    "slit-invites-robbers": (
        "The slit under the cover is wider than usual, though too narrow for a worker bee. The slit may attract "
        "robbers. Use thinner spacers.", ("vent.slit_clear", "opening.queen_excluder.plastic")),
    "slit-lets-bees-in": (
        "A worker bee fits through the slit under the cover. The slit becomes a second entrance, which robbers use. "
        "Use thinner spacers.",
        ("vent.slit_clear", "opening.queen_excluder.plastic")),
    "cover-reaches-short": (
        "When the cover sits on its spacers, its skirt overlaps the hive too little. Wind can lift the cover, and rain "
        "can get in. Use thinner spacers, or strap the cover down.", ("cover.overlap_least",)),
    "spacer-misses-box": (
        "The squares in the cover's corners do not reach the walls of the box. The cover would drop. Use larger "
        "squares, or measure the inside of the cover again.", ()),
    "guard-stops-bees": (
        "Worker bees cannot get through the mouse guard. The hive is closed to them. Use larger holes or coarser mesh.",
        ("opening.worker_easy", "opening.mouse_hole", "mesh.eighth.passes")),
    "guard-lets-mice-in": (
        "A mouse can get through the mouse guard. Holes larger than those in commercial mouse guards are a "
        "warning; holes as wide as a mouse's skull are an error. Use smaller holes or finer mesh.",
        ("opening.mouse_hole", "opening.mouse_skull", "opening.mouse_slot.contrary", "mesh.third.passes")),
    "mouse-sources-disagree": (
        "Published sources disagree about whether mice can get through this opening. Both sources are quoted. Where "
        "mice are small, use the finer mesh or smaller holes.",
        ("opening.mouse_hole", "opening.mouse_slot", "mesh.half.passes")),
    "guard-holds-dead-bees": (
        "Live bees get through this guard, but they cannot carry out their dead. Dead bees clog the entrance. Rake "
        "them out weekly in winter.",
        ("mesh.quarter.passes",)),
    "guard-holes-blocked": (
        "A row of holes in the mouse guard is partly covered by the floor or wall behind it. Worker bees cannot get "
        "through those holes. Use fewer rows, or a mesh guard.", ("opening.worker_easy",)),
    "guard-web-thin": (
        "Too little steel is left between two holes, or between a hole and the fold. The steel bends or tears when it "
        "is drilled. Use a wider pitch or smaller holes.",
        ("guard.web_least",)),
    "guard-chokes-entrance": (
        "The guard leaves less open area than a usual winter entrance. Too few bees and too little air get through. "
        "Drill more holes or a second row, or use a wider entrance.",
        ("opening.entrance_height", "opening.entrance_length")),
    "guard-leaves-a-way-round": (
        "The guard does not reach far enough past the ends or the top of the entrance. Mice can get around the guard. "
        "Increase the guard's overlap and lap settings.", ()),
    "closing-is-disputed": (
        "Published sources disagree about whether to close a screened bottom board for winter. This note quotes the "
        "other view. Ask what works locally. You can slide the insert out again.",
        ("insert.open_bottom",)),
    "insert-binds": (
        "The insert has too little play at its sides. The insert jams when it is wet or dirty. An insert larger than "
        "its opening is an error. Give it more play, or measure the opening again.",
        ("insert.play_least",)),
    "cake-too-high": (
        "There is too little space over the cake. Bees must be able to walk there. A cake above the rim is an error. "
        "Make the rim taller, or make the cake thinner.",
        ("rim.head_room",)),
    "feeder-floor-is-solid": (
        "The wells of a top feeder have solid floors. The shavings in them absorb moisture only from above. Check the "
        "shavings at midwinter. A quilt box absorbs more.", ()),
    "wells-not-measured": (
        "The feeder's wells were not measured, so a default is used. The amount of shavings may be wrong. Measure one "
        "feeder.", ("feeder.well_depth",)),
    # findings of woodshop verify about a plan
    "plan-digest": ("The plan was made for a different job. Its cuts may not fit this one. Plan again.", ()),
    "plan-stock": ("A layout uses stock that is not in the job. That stock cannot be bought or cut. Plan again.", ()),
    "plan-times": ("A layout is repeated less than once, so its pieces are never cut. Plan again.", ()),
    "plan-empty": ("A layout has no pieces, so its stock would be wasted. Plan again.", ()),
    "plan-unknown": ("A layout contains a piece that the job does not ask for. Plan again.", ()),
    "plan-count": ("The plan makes too many or too few of a part, not counting spares. Plan again.", ()),
    "plan-spare": ("The plan keeps spare parts, though the job says to drop them. Plan again.", ()),
    "plan-stock-count": ("The plan uses more of a stock item than you have. You would run out. Plan again.", ()),
    "plan-cost": ("The plan's cost is not the total for its layouts. Do not buy from it. Plan again.", ()),
    "plan-bound": (
        "The plan's lower bound is impossible: negative, above the cost, or not a sum of prices. Plan again.", ()),
    "plan-gap": ("The plan's gap is not its cost minus its lower bound. Plan again.", ()),
    "plan-assurance": ("The plan claims more certainty than its bound and gap justify. Plan again.", ()),
    "plan-size": ("A piece is not the size the part calls for, so it would not fit. Plan again.", ()),
    "plan-rotated": ("A piece is turned across the grain, though its part must run along the grain. The piece would "
    "be weak. Plan again.", ()),
    "plan-outside": ("A piece reaches past the stock that is left after trimming. Plan again.", ()),
    "plan-unusable": ("A piece includes a stretch marked unusable, such as a knot. Plan again.", ()),
    "plan-overlap": ("Two pieces take up the same wood. Only one of them can be cut. Plan again.", ()),
    "plan-direction": ("The first cuts of a layout run in a direction that the job forbids. Plan again.", ()),
    "plan-rule": (
        "The pieces can be cut, but a rule of the job is broken. The finding names the rule: wood between blade and "
        "fence, narrowest strip, shortest and longest rip, wood beside the last rip, defects cut out before ripping, "
        "or boards that must not be ripped. Plan again.", ()),
    "plan-kerf": (
        "No series of edge-to-edge cuts separates the pieces with a full kerf between them, in as many stages as the "
        "job allows. An unusable stretch narrower than the kerf does not count as a kerf. Plan again.", ()),
    "plan-proof": (
        "The certificate does not prove the lower bound when it is calculated again in whole numbers. A cheaper plan "
        "may exist. Plan again.", ()),
    # findings about the cuts in sawing order, replayed on a simulated saw
    "sequence-format": ("A key or value in the list of cuts is wrong, so the list cannot be read. Plan again.", ()),
    "sequence-moves": ("The number of saw settings is wrong, or a setting is made that no cut uses. Plan again.", ()),
    "sequence-order": (
        "The cuts are out of order. Boards must be trimmed, cut to sections, ripped, then crosscut. Plan again.", ()),
    "sequence-layout": ("A cut belongs to a layout that is not in the plan. Plan again.", ()),
    "gaps-vary": (
        "Sizes vary, so some hives have a gap outside its limits, though the design is right. The share is "
        "estimated from many simulated hives with winter-moist wood. Take more care when you measure or cut the sizes "
        "named, or move the gap nearer the middle of its limits.",
        ("tolerance", "moisture")),
    "wood-breaks-limit": (
        "Wood swells across the grain in damp air and shrinks in dry air. A gap in the new hardware is right when "
        "made, but goes past its limit in winter or summer. Let the lumber acclimate outdoors, under cover, before you "
        "cut it, or allow for the movement.",
        ("moisture", "wood.movement_least", "wood.movement_most")),
    "wood-moves": (
        "Your boxes and frames swell and shrink across the grain. A gap was right when it was measured, but goes past "
        "its limit in winter or summer. Measure your boxes and frames in the season that matters.",
        ("moisture", "wood.movement_least", "wood.movement_most")),
    "sequence-boards": ("A cut is made on more or fewer boards than the layout has. Plan again.", ()),
    "sequence-part": ("A cut is made in a piece that does not exist, or no longer exists. Plan again.", ()),
    "sequence-setting": ("The fence or stop is set in a way that does not match the cut. Plan again.", ()),
    "sequence-passes": ("The number of passes does not match the number of pieces cut off. Plan again.", ()),
    "sequence-size": (
        "A cut removes more wood than there is, or leaves a size that is not in the list. Plan again.", ()),
    "sequence-trim": ("A board is cut before its ends and edges are trimmed, or it is trimmed incorrectly. Plan "
    "again.", ()),
    "sequence-rule": (
        "A rip breaks a safety rule: too short, too long, too narrow, on the wrong side of the blade, or with too "
        "little wood between blade and fence. Do not make this cut. Plan again.", ()),
    "sequence-unusable": ("A piece includes a stretch of the board marked unusable. Plan again.", ()),
    "sequence-pieces": ("The cuts do not end with exactly the pieces in the plan. Plan again.", ()),
}  # fmt: skip


WORDS = {Severity.ERROR: "DO NOT CUT", Severity.WARNING: "Think first", Severity.NOTE: "Note"}
NOT_CHECKED = (
    "Whether the wood is straight, dry and sound, and whether your other boxes match the one you measured.",
    "Sag of the mesh, wood movement and variation of sizes, beyond estimates.",
    "Crooked comb, propolis and burr comb already in the hive, and frames from another maker.",
    "Airflow. Woodshop only measures openings and finds dead ends.",
    "Local rules on wood, on feeding and on moving hardware between apiaries.",
)


def explained_here(report: Report, code: str) -> tuple[Block, ...]:
    """The rule of a finding, its numbers in this design, and its sources. Raises InputError if `report` lacks it."""
    found = [(places, finding) for places, finding in grouped(report.findings) if finding.code == code]
    if not found:
        codes = list(dict.fromkeys(finding.code for finding in report.findings))
        do = f"{did_you_mean(code, codes, '')} For other findings: woodshop explain CODE.".strip()
        raise InputError(Problem("--explain", repr(code), "a code found here: " + (", ".join(codes) or "none"), do))
    rule, *numbers = rule_of(code)
    return (
        Heading(code, 2),
        rule,
        *(
            Note(
                finding.severity,
                "; ".join(places),
                (
                    finding.value,
                    f"{wanted(finding)}{finding.limits}",
                    finding.change,
                    *(f"in the design: {line}" for line in remedy_lines(finding)),
                    f"source: {finding.source}",
                ),
            )
            for places, finding in found
        ),
        *numbers,
    )


def rule_of(code: str) -> tuple[Block, ...]:
    """The rule of a finding in words, then the facts that it rests on, if there are any. Raises KeyError."""
    text, keys = FINDINGS[code]
    wording = wording_of(unit_of_lengths())
    say = wording.quoted
    rows = tuple((f"{row.key} = {say(row.value)}", say(row.what), row.cite) for prefix in keys for row in group(prefix))
    columns = (Column("fact"), Column("what it is"), Column("source"))
    return (Paragraph(wording.said(text)), *((Table(columns, rows),) if rows else ()))


_REPORTED = (
    "closing-is-disputed", "density-decides-lumber", "mouse-sources-disagree", "top-ventilation-is-disputed"
)  # fmt: skip


def wanted(finding: Finding) -> str:
    """The word before the limits of a finding, or "" if the finding only reports what sources say."""
    return "" if finding.code in _REPORTED else "wanted: "


def verdict_line(report: Report) -> str:
    """One line that says whether the hives fit, with the number of findings; identical findings count once.

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
    """Combines identical findings at different places, in the order of their first occurrence.

    If `brief` is true, notes that differ only in their limits are also combined.
    """
    groups: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        limits = "" if brief and finding.severity is Severity.NOTE else finding.limits
        key = (finding.code, finding.severity, finding.value, limits, finding.change)
        groups.setdefault(key, []).append(finding)
    return [(tuple(dict.fromkeys(f.place for f in group)), group[0]) for group in groups.values()]


@dataclass(frozen=True, slots=True)
class FoundAt:
    """Identical findings, combined: their places as text, what was found, and the first of them."""

    where: str
    found: str
    finding: Finding

    @property
    def heading(self) -> str:
        """The rule and the places."""
        return f"{self.finding.code}: {self.where}"


def found_at(report: Report, brief_for: Batch | None = None) -> tuple[FoundAt, ...]:
    """The findings in order, with identical findings at different places combined. `brief_for` as in
    `findings_section`.
    """
    every = []
    for places, finding in grouped(report.findings, brief=brief_for is not None):
        is_brief = brief_for is not None and finding.severity is Severity.NOTE
        where = places if brief_for is None else places_shortened(places, brief_for)
        found = finding.value if is_brief else f"{finding.value}; {wanted(finding)}{finding.limits}"
        every.append(FoundAt("; ".join(where), found, finding))
    return tuple(every)


def remedy_lines(finding: Finding) -> tuple[str, ...]:
    """The lines of the design that the remedy of a finding changes, as text."""
    return tuple(f"{path} = {value or '(removed)'}" for path, value in finding.remedy)


def findings_section(report: Report, brief_for: Batch | None = None) -> Section:
    """The findings, with identical findings at different places combined.

    If a batch `brief_for` is given, its places are shortened, and notes omit their limits.
    """
    notes = [
        Note(each.finding.severity, each.heading, (each.found, each.finding.change))
        for each in found_at(report, brief_for)
    ]
    nothing = Paragraph("No findings: every check passes.")
    return Section("", tuple(notes) or (nothing,), {"findings": [finding.to_json() for finding in report.findings]})


def made_section(batch: Batch, is_brief: bool) -> Section:
    """The number of each item and, unless `is_brief` is true, of each size, with its calculation."""
    if not is_brief:
        return Section("", (KeyValues(tuple((each.address, each.arithmetic) for each in batch.lines)),))
    counts: dict[str, int] = {}
    for line in batch.lines:
        counts[line.item.name] = counts.get(line.item.name, 0) + line.count
    words = ", ".join(f"{name} {count}" for name, count in counts.items())
    return Section("", (Paragraph(f"{words}.", lead="To make:"),))


def findings_chapter(planned: PlannedBatch) -> Section:
    """The findings, the bee-space limits used, and what is not checked."""
    findings = grouped(planned.report.findings)
    chosen, unit = band(planned.batch.conditions.band), planned.batch.unit
    taken = chosen.row.value if unit == "in" else f"{chosen.least.number(unit)} to {chosen.most.text(unit)}"
    blocks: list[Block] = [Paragraph(f"Bee space is {taken} here ({chosen.name}; {chosen.cite}).")]
    if findings:
        rows = tuple(
            (
                WORDS[f.severity],
                "; ".join(places_shortened(places, planned.batch)),
                f"{f.value}; {wanted(f)}{f.limits}",
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
        blocks.append(Paragraph("Every check passes."))
    blocks += [Heading("What is not checked", 2), Bullets((*NOT_CHECKED, _cold(planned)))]
    topics = batch_topics(planned)
    if topics:
        blocks.append(caution_sources(topics))
    return Section("What the checks found", tuple(blocks))


def places_shortened(places: tuple[str, ...], batch: Batch) -> list[str]:
    """The places of a finding, as "every hive" or "every box" instead of a complete list."""
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
    """The names of the places. If all hive groups are among these, "every hive" replaces their names."""
    if len(hives) < 2 or not set(hives) <= set(where):
        return where
    return ["every hive", *(each for each in where if each not in hives)]


def _cold(planned: PlannedBatch) -> str:
    """What the winter estimate does not decide or, without outside temperatures, how to get an estimate."""
    if planned.batch.conditions.climate is None:
        return f"Heat and moisture at the top of the hive. {how_to_get_it(planned.batch.unit)}"
    return "Whether top ventilation suits your climate. The page on cold weather estimates both ways."


def default_chapter(planned: PlannedBatch) -> Section:
    """Every default with its source. A default that several hives share is listed once."""
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
        Paragraph(
            "These defaults come from the table of common values. Set your own in the design or lumberyard file."
        ),
        Table(columns, rows, small=True),
    )
    return Section("Defaults: values you did not set", blocks)
