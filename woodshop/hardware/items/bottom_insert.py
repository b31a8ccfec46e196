"""The insert under a screened bottom board: a loose sheet of fluted plastic."""

from collections.abc import Iterator
from typing import Annotated

from woodshop.findings import Finding, Severity
from woodshop.hardware.board import Setting
from woodshop.hardware.gauge_steps import gauge_test
from woodshop.hardware.registry import Param, item
from woodshop.hive.stacking.place import Place, TierKind
from woodshop.reference.facts import fact
from woodshop.reference.materials import EXISTING, sheet_material
from woodshop.shape.part import Assembly, Part, Placed, Pose, Role, Spec
from woodshop.units.lengths import ZERO, Length, inch


def check_bottom_insert(setting: Setting, made: Assembly, address: str) -> Iterator[Finding]:
    """Checks the clearance of the insert in the bottom board, and notes that beekeepers disagree about closing it."""
    (insert,) = made.named("insert")
    sides, ends = made.named("bottom side"), made.named("bottom end")
    room = (
        min(p.box.low[0] for p in ends if p.box.low[0] > insert.box.low[0]) - insert.box.high[0],
        insert.box.low[0] - max(p.box.high[0] for p in ends if p.box.low[0] <= insert.box.low[0]),
        min(p.box.low[1] for p in sides if p.box.low[1] > insert.box.low[1]) - insert.box.high[1],
        insert.box.low[1] - max(p.box.high[1] for p in sides if p.box.low[1] <= insert.box.low[1]),
    )
    row, open_bottom = fact("insert.play_least"), fact("insert.open_bottom")
    yield from [
        Finding(
            "closing-is-disputed",
            Severity.NOTE,
            address,
            "a bottom closed for winter",
            f"some beekeepers leave it open ({open_bottom.what.rstrip('.').lower()})",
            open_bottom.cite,
            "Ask a local club what works in your climate. You can slide the insert out again.",
        )
    ]
    if min(room) < row.length:
        yield Finding(
            "insert-binds",
            Severity.ERROR if min(room) < ZERO else Severity.WARNING,
            address,
            f"{setting.say(min(room))} of play at one side of the insert"
            if min(room) >= ZERO
            else f"the insert is {setting.say(-min(room))} larger than the opening on one side",
            f"at least {row.worded(setting.wording)} of play at each side",
            row.cite,
            ("A tight insert jams when it is wet or dirty." if min(room) >= ZERO else "The insert will not go in.")
            + " Give the insert more play, or measure the opening again.",
        )


PLACE = Place(kind=TierKind.INSERT, name="bottom insert", block="insert", rests_on=("runner",))


@item("bottom insert", title="Insert under the screened bottom board", check=check_bottom_insert, place=PLACE)
def bottom_insert(
    setting: Setting,
    *,
    thickness: Annotated[Length, Param("thickness of the fluted sheet", "plastic.fluted_thickness", "1/16", "1/2")],
    play: Annotated[Length, Param("insert smaller than the opening, each side", "insert.play", "0", "1")],
    opening_length: Annotated[
        Length | None, Param("length of the opening, front to back", None, "8", "40", source="the inside of the box")
    ] = None,
    opening_width: Annotated[
        Length | None, Param("width of the opening", None, "4", "40", source="the inside of the box")
    ] = None,
) -> Assembly:
    """A sheet that slides in under the screen, its flutes running front to back.

          +-------------------+
          | ================= |
    front | ================= |   flutes run front to back, so that the sheet
          | ================= |   stays stiff as it slides in, and drains at the front
          +-------------------+
    """
    box = setting.box
    long = opening_length if opening_length is not None else box.inside_length
    wide = opening_width if opening_width is not None else box.inside_width
    insert = Part(
        "insert",
        sheet_material("fluted", thickness, setting.unit),
        (long - play * 2).down_to(setting.mark),
        (wide - play * 2).down_to(setting.mark),
        thickness,
        notes=("flutes run along the length",),
    )
    x, y = (box.length - insert.length) / 2, (box.width - insert.width) / 2
    say, play_x, play_y = setting.say, (long - insert.length) / 2, (wide - insert.width) / 2
    return Assembly(
        "bottom insert",
        f"Bottom insert for {box.name}",
        (Placed(insert, Pose((x, y, ZERO))), *_bottom(setting, long, wide)),
        steps=(
            f"Cut the sheet {say(insert.length)} along the flutes by {say(insert.width)} across them, with a "
            "knife along a straightedge.",
            "Tape the two fluted ends shut, or small hive beetles and wax moths will hide in them.",
            "Slide it in under the screen with the flutes running front to back. It must move freely. Push it to one "
            f"side, and try the bee-space gauge at the other: {gauge_test(play_y * 2, say, setting.unit)}.",
            "Remove it when bees fly freely in spring. With a film of oil, it serves as a board for counting mites.",
        ),
        facts=(
            Spec("insert", f"{say(insert.length)} along the flutes x {say(insert.width)}"),
            Spec("opening", f"{say(long)} x {say(wide)}"),
            Spec("play at each side", f"{say(play_x)} and {say(play_y)}"),
        ),
    )


def _bottom(setting: Setting, long: Length, wide: Length) -> list[Placed]:
    """The frame of the user's screened bottom board around the opening."""
    box, t, high = setting.box, setting.wood, inch(1)
    x, y = (box.length - long) / 2, (box.width - wide) / 2
    side = Part("bottom side", EXISTING, long + t * 2, high, t)
    end = Part("bottom end", EXISTING, wide, high, t)
    return [
        Placed(side, Pose((x - t, y, ZERO), "+x", "+z", "-y"), Role.EXISTING),
        Placed(side, Pose((x + long + t, y + wide, ZERO), "-x", "+z", "+y"), Role.EXISTING),
        Placed(end, Pose((x, y + wide, ZERO), "-y", "+z", "-x"), Role.EXISTING),
        Placed(end, Pose((x + long, y, ZERO), "+y", "+z", "+x"), Role.EXISTING),
    ]
