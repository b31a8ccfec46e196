"""Vent spacers: squares of fluted plastic that raise a telescoping cover by less than a bee needs to pass."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from typing import Annotated

from woodshop.errors import InputError, Problem
from woodshop.findings import Finding, Severity
from woodshop.hardware.board import Setting, between
from woodshop.hardware.gauge_steps import gauge_test
from woodshop.hardware.registry import Param, item
from woodshop.hive.creatures import OpeningName, PartName
from woodshop.hive.passages.air import slit_clear
from woodshop.hive.stacking.place import Place, TierKind, Varying, Work
from woodshop.hive.woodenware.box import stand
from woodshop.reference.facts import fact
from woodshop.reference.materials import EXISTING, sheet_material
from woodshop.shape.part import Assembly, Cuboid, Fastener, Part, Placed, Pose, Role, Spec, contact_area, gap
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import Wording


def check_vent_spacers(setting: Setting, made: Assembly, address: str) -> Iterator[Finding]:
    """Checks the slit under the cover, the skirt's overlap, and whether every square rests on the box."""
    walls = (*made.named("box side"), *made.named("box end"))
    yield from _slit(gap(walls, made.named(PartName.COVER_TOP)), setting.wording, address)
    yield from _overlap(made, walls, setting.wording, address)
    yield from _bearing(made, walls, address)


PLACE = Place(
    kind=TierKind.UNDER_COVER,
    name="vent spacers",
    block="vent spacer",
    varying=(Varying("thickness of the vent spacers", "vent spacer", 2, work=Work.SHEET),),
)


@item("vent spacers", title="Vent spacers for a telescoping cover", check=check_vent_spacers, place=PLACE)
def vent_spacers(
    setting: Setting,
    *,
    square: Annotated[Length, Param("side of a square", "vent.square", "1", "4")],
    thickness: Annotated[Length, Param("thickness of the fluted sheet", "vent.thickness", "1/16", "1/2")],
    skirt: Annotated[
        Length, Param("depth of the cover's skirt, 0 for a flat cover", "cover.skirt_depth", *between("cover_skirt"))
    ],
    clearance: Annotated[
        Length,
        Param(
            "cover wider than the box, each side, if it was not measured",
            "cover.clearance",
            *between("cover_clearance"),
        ),
    ],
    cover_length: Annotated[
        Length | None, Param("inside length of the cover", None, "10", "40", source="the box and its clearance")
    ] = None,
    cover_width: Annotated[
        Length | None, Param("inside width of the cover", None, "6", "40", source="the box and its clearance")
    ] = None,
) -> Assembly:
    """Four squares stapled into the inner corners of the cover, seen from below.

    +--+-------------+--+
    |##|             |##|   ## square, under the top,
    +--+             +--+      against both skirts
    |                   |
    +--+             +--+
    |##|             |##|
    +--+-------------+--+
    """
    box = setting.box
    if skirt <= ZERO:
        raise InputError(
            Problem(
                f"vent spacers for {box.name}, skirt",
                "0: a flat cover, without a skirt",
                "a telescoping cover; without a skirt, wind lifts it off its spacers and rain blows in",
                "Make vent spacers only for hives with telescoping covers: name those hives in this [[make]].",
            )
        )
    long = cover_length if cover_length is not None else box.length + clearance * 2
    wide = cover_width if cover_width is not None else box.width + clearance * 2
    if square * 2 > min(long, wide):
        given = f"{setting.say(square)} squares in a cover {setting.say(long)} x {setting.say(wide)} inside"
        raise InputError(
            Problem(f"vent spacers for {box.name}, square", given, "four that fit side by side", "Make them smaller.")
        )
    x, y = (box.length - long) / 2, (box.width - wide) / 2
    part = Part("vent spacer", sheet_material("fluted", thickness, setting.unit), square, square, thickness)
    corners = product((x, x + long - square), (y, y + wide - square))
    each = int(fact("vent.staples_each").number)
    overlap = skirt - thickness
    test = gauge_test(thickness, setting.say, setting.unit)
    squares = [Placed(part, Pose((a, b, ZERO))) for a, b in corners]
    out = setting.outside
    slit = slit_clear(squares, Cuboid((out.x0, out.y0, ZERO), (out.x1, out.y1, thickness)))
    return Assembly(
        "vent spacers",
        f"Vent spacers for {box.name}",
        (*squares, *_cover(x, y, long, wide=wide, under=thickness, skirt=skirt), *_box_top(setting)),
        fasteners=(Fastener(fact("wire_bottom.staple").value_in(setting.unit), 4 * each, "squares to the cover"),),
        steps=(
            f"Cut squares of {setting.say(square)} from fluted plastic with a knife along a straightedge.",
            "Lay the cover upside down. Push a square into each inner corner, and drive "
            f"{each} staples flat into it. Wear eye protection. No point may come through the top.",
            f"Put the cover on. It now sits {thickness.number('mm')} mm above the box, and its skirt still reaches "
            f"{setting.say(overlap)} down. Try the bee-space gauge in the slit: {test}.",
            "Run a strip of card around under the skirt. No gap may let a bee in from outside.",
        ),
        facts=(
            Spec("squares", f"4 of {setting.say(square)} x {setting.say(square)}, {thickness.number('mm')} mm thick"),
            Spec(OpeningName.SLIT, f"{thickness.number('mm')} mm"),
            Spec("skirt over the box", setting.say(overlap)),
            Spec("slit all around, open", setting.wording.area(slit)),
        ),
    )


def _cover(x: Length, y: Length, long: Length, *, wide: Length, under: Length, skirt: Length) -> list[Placed]:
    """The user's cover in place: a top, and a skirt around it, outside the given inside sizes."""
    t = fact("cover.board").length
    top = Part(PartName.COVER_TOP, EXISTING, long + t * 2, wide + t * 2, t)
    side = Part("skirt side", EXISTING, long + t * 2, skirt, t)
    end = Part("skirt end", EXISTING, wide, skirt, t)
    low = under - skirt
    return [
        Placed(top, Pose((x - t, y - t, under)), Role.EXISTING),
        Placed(side, Pose((x - t, y, low), "+x", "+z", "-y"), Role.EXISTING),
        Placed(side, Pose((x + long + t, y + wide, low), "-x", "+z", "+y"), Role.EXISTING),
        Placed(end, Pose((x, y + wide, low), "-y", "+z", "-x"), Role.EXISTING),
        Placed(end, Pose((x + long, y, low), "+y", "+z", "+x"), Role.EXISTING),
    ]


def _box_top(setting: Setting) -> list[Placed]:
    """The walls that carry the cover, upper edges at z = 0: the rim's if rim and box differ in size, else the box's."""
    out = setting.outside
    top = stand(replace(setting.box, length=out.long, width=out.wide))
    walls = (*top.named("box side"), *top.named("box end"))
    return [wall.moved((out.x0, out.y0, ZERO - setting.box.height)) for wall in walls]


def _slit(slit: Length | None, wording: Wording, address: str) -> Iterator[Finding]:
    if slit is None:
        return
    clear, passes = fact("vent.slit_clear"), fact("opening.queen_excluder.plastic")
    if slit <= clear.length:
        return
    walks = slit >= passes.range[0]
    yield Finding(
        "slit-lets-bees-in" if walks else "slit-invites-robbers",
        Severity.ERROR if walks else Severity.WARNING,
        address,
        f"a slit of {slit.number('mm')} mm under the cover",
        wording.quoted(
            f"at most {clear.value} ({clear.length.number('mm')} mm); worker bees fit through {passes.value}"
        ),
        f"{passes.cite}; {clear.cite}",
        'The slit becomes a second entrance. Use 3 mm sheet: thickness = "3 mm".'
        if walks
        else 'The slit may attract robbers. Use 3 mm sheet: thickness = "3 mm". Or put the spacers in after robbing '
        "season, and check the slit on the next warm day.",
    )


def _overlap(made: Assembly, walls: tuple[Placed, ...], wording: Wording, address: str) -> Iterator[Finding]:
    """Checks how far the skirt reaches below the top of the walls."""
    top = max(wall.box.high[2] for wall in walls)
    low = max(p.box.low[2] for p in (*made.named("skirt side"), *made.named("skirt end")))
    row = fact("cover.overlap_least")
    if top - low >= row.length:
        return
    yield Finding(
        "cover-reaches-short",
        Severity.ERROR if top <= low else Severity.WARNING,
        address,
        f"the skirt reaches {wording.length(top - low)} below the top of the hive"
        if top >= low
        else f"the skirt ends {wording.length(low - top)} above the top of the hive",
        f"at least {row.worded(wording)} below the top",
        row.cite,
        "Wind can lift the cover, and rain can get in. Use thinner spacers, or strap the cover down.",
    )


def _bearing(made: Assembly, walls: tuple[Placed, ...], address: str) -> Iterator[Finding]:
    """Checks that every square rests on the wood of the box at its corner."""
    bare = [s for s in made.named("vent spacer") if not any(contact_area(wall, s).mm2 for wall in walls)]
    if not bare:
        return
    yield Finding(
        "spacer-misses-box",
        Severity.ERROR,
        address,
        f"{len(bare)} of 4 squares in the cover's corners miss the walls of the box",
        "squares that rest on the wood",
        "geometry",
        "The cover would drop at those corners. Use larger squares, or measure the inside of the cover again.",
    )
