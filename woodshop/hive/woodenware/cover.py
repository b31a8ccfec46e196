"""Covers as used in the apiary: telescoping covers, flat covers, and the inner cover under them.

+===========================+   top
|+                         +|   skirt, outside what it covers
|                           |
  +-----+  =========  +----+    inner cover: wood around a panel with a hole
"""

from dataclasses import dataclass
from typing import Literal

from woodshop.hive.creatures import PartName
from woodshop.reference.facts import fact
from woodshop.reference.materials import EXISTING
from woodshop.shape.part import Assembly, Cuboid, Cut, Face, Part, Placed, Pose, Rectangle, Role, Space
from woodshop.units.lengths import ZERO, Length

RimSide = Literal["down", "up"]


@dataclass(frozen=True, slots=True)
class Cover:
    """A cover, given by its inside sizes, the depth of its skirt (0 if flat) and the thickness of its boards.

    `assumed` lists which of "skirt" and "clearance" are those of another pattern of hive, because this one has none
    published.
    """

    length: Length
    width: Length
    skirt: Length
    board: Length
    assumed: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The name of its tier, so that gaps, drawings and the air path show that an assumed cover was not measured."""
        return "assumed cover" if self.assumed else "cover"

    @property
    def is_flat(self) -> bool:
        """Whether the cover has no skirt."""
        return self.skirt <= ZERO


@dataclass(frozen=True, slots=True)
class InnerCover:
    """An inner cover, given by its outside sizes and total thickness. `rim` is the direction of its deep side."""

    length: Length
    width: Length
    thickness: Length
    rim: RimSide = "down"


def lay_cover(cover: Cover) -> Assembly:
    """The placed cover, with the underside of its top at z = 0 and an inside corner at x = y = 0."""
    t, long, wide, skirt = cover.board, cover.length, cover.width, cover.skirt
    if cover.is_flat:
        flat = Part(PartName.COVER_TOP, EXISTING, long, wide, t)
        return Assembly("cover", "Flat cover", (Placed(flat, Pose((ZERO, ZERO, ZERO)), Role.EXISTING),))
    top = Part(PartName.COVER_TOP, EXISTING, long + t * 2, wide + t * 2, t)
    side = Part("skirt side", EXISTING, long + t * 2, skirt, t)
    end = Part("skirt end", EXISTING, wide, skirt, t)
    low = ZERO - skirt
    placed = (
        (top, Pose((ZERO - t, ZERO - t, ZERO))),
        (side, Pose((ZERO - t, ZERO, low), "+x", "+z", "-y")),
        (side, Pose((long + t, wide, low), "-x", "+z", "+y")),
        (end, Pose((ZERO, wide, low), "-y", "+z", "-x")),
        (end, Pose((long, ZERO, low), "+y", "+z", "+x")),
    )
    return Assembly("cover", "Telescoping cover", tuple(Placed(part, pose, Role.EXISTING) for part, pose in placed))


def lay_inner_cover(inner: InnerCover) -> Assembly:
    """The placed inner cover on z = 0: a wood rim, and in the middle a panel with an oblong hole.

    The panel has the thickness in the table of facts, or that of the inner cover if it is thinner. The deep side has
    the depth in the table, or the remaining thickness if that is less. The shallow side has the rest of the thickness.
    The hole is declared wide by design.
    """
    long, wide, high = inner.length, inner.width, inner.thickness
    panel = min(fact("cover.inner_panel").length, high)
    deep = min(fact("cover.inner_rim").length, high - panel)
    low = deep if inner.rim == "down" else high - panel - deep
    edge = ZERO if high == panel else fact("cover.inner_edge").length
    hole_long, hole_wide = fact("cover.inner_hole_length").length, fact("cover.inner_hole_width").length
    x, y = long - edge * 2, wide - edge * 2
    hole = Rectangle((x - hole_long) / 2, (y - hole_wide) / 2, (x + hole_long) / 2, (y + hole_wide) / 2)
    sheet = Part("inner cover panel", EXISTING, x, y, panel, cuts=(Cut("hole", Face.SHOW, hole, panel),))
    placed = [(sheet, Pose((edge, edge, low)))]
    if edge:
        side = Part("inner cover side", EXISTING, long, high, edge)
        end = Part("inner cover end", EXISTING, y, high, edge)
        placed += [
            (side, Pose((ZERO, edge, ZERO), "+x", "+z", "-y")),
            (side, Pose((long, wide - edge, ZERO), "-x", "+z", "+y")),
            (end, Pose((edge, wide - edge, ZERO), "-y", "+z", "-x")),
            (end, Pose((long - edge, edge, ZERO), "+y", "+z", "+x")),
        ]
    (x0, y0), (x1, y1) = ((u + edge, v + edge) for u, v in ((hole.u0, hole.v0), (hole.u1, hole.v1)))
    way = Space("hole of the inner cover", Cuboid((x0, y0, low), (x1, y1, high)), "an opening for bees, or to a feeder")
    whole = tuple(Placed(part, pose, Role.EXISTING) for part, pose in placed)
    return Assembly("inner cover", "Inner cover", whole, spaces=(way,))
