"""Resawing: how many thinner boards come of a thicker one, with the shop's saw and planer."""

from dataclasses import dataclass

from woodshop.units.lengths import Length

BAND_SAW, GUARDED_TABLE_SAW = "band saw", "table saw with guard and riving knife"


@dataclass(frozen=True, slots=True, kw_only=True)
class Resawing:
    """The saw and the planer that make thinner boards.

    A board no wider than `height` is sawn on edge in one pass, with this `kerf`. Then `planing` is planed off each face
    of each new board. The planer takes no board that is shorter than `shortest` or wider than `widest`.
    """

    saw: str
    height: Length
    kerf: Length
    planing: Length
    shortest: Length
    widest: Length

    @property
    def caution_topics(self) -> tuple[str, ...]:
        """The topics of the cautions for resawing with this saw and for planing, as in `reference.cautions`."""
        with_saw = "the table saw" if self.saw == GUARDED_TABLE_SAW else "the band saw"
        return "resawing", f"resawing on {with_saw}", "planer"

    def boards_of(self, thick: Length, wood: Length) -> int:
        """How many boards of the thickness `wood` come of one board that is `thick`; 0 if fewer than two.

        Of n boards, n - 1 kerfs and 2 n faces are lost.
        """
        count = (thick + self.kerf) // (wood + self.kerf + self.planing * 2)
        return count if count > 1 else 0

    def off_the_saw(self, thick: Length, count: int) -> Length:
        """How thick each of `count` equal boards is when it comes off the saw."""
        return (thick - self.kerf * (count - 1)) / count

    def resawn(self, thick: Length, width: Length, length: Length, wood: Length) -> int:
        """How many boards of the thickness `wood` come of one board of this size, or 0 if it is not resawn."""
        is_able = width <= min(self.height, self.widest) and length >= self.shortest
        return self.boards_of(thick, wood) if is_able else 0
