"""Which saw makes which cut: the shop's tools, their kerfs and what each can cross."""

from collections.abc import Callable
from dataclasses import dataclass

from woodshop.design.settings.saw import ToolsTable
from woodshop.errors import InputError, Problem
from woodshop.reference.facts import fact
from woodshop.units.lengths import Length

TABLE_SAW, MITER_SAW, CIRCULAR_SAW, SLED, HAND_SAW = "table saw", "miter saw", "circular saw", "sled", "hand saw"
_LENGTHS = ("table_saw_kerf", "miter_saw_kerf", "circular_saw_kerf", "hand_saw_kerf", "miter_saw_width", "long_board",
            "thin_strip")  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Tools:
    """The shop's saws as settled.

    `crosscut_with` are the saws for crosscuts, of `saw_tables.CrosscutSaw`; a table saw rips, and a hand saw makes
    what no other can. `miter_saw_width` is the widest board that the miter saw crosses. Boards longer than
    `long_board` need support on both sides of a crosscut; strips thinner or narrower than `thin_strip` are crosscut
    by hand.
    """

    crosscut_with: tuple[str, ...]
    table_saw_kerf: Length
    miter_saw_kerf: Length
    circular_saw_kerf: Length
    hand_saw_kerf: Length
    miter_saw_width: Length
    long_board: Length
    thin_strip: Length

    @property
    def rip_kerf(self) -> Length:
        """The kerf that a rip is planned with."""
        return self.table_saw_kerf

    @property
    def crosscut_kerf(self) -> Length:
        """The kerf that a crosscut is planned with: the widest of the saws that may make it.

        A layout is planned before its saws are known. A narrower kerf leaves a little more waste; a wider one would
        leave a part too short.
        """
        kerfs = {
            MITER_SAW: self.miter_saw_kerf,
            CIRCULAR_SAW: self.circular_saw_kerf,
            SLED: self.table_saw_kerf,
            HAND_SAW: self.hand_saw_kerf,
        }
        return max(kerfs[saw] for saw in (*self.crosscut_with, HAND_SAW))

    def for_crosscut(self, length: Length, width: Length, thickness: Length) -> str:
        """The saw that crosses a part of this size."""
        if min(width, thickness) < self.thin_strip:
            return f"{HAND_SAW}, miter box"
        is_long = length > self.long_board
        for saw in self.crosscut_with:
            if saw == MITER_SAW and width <= self.miter_saw_width:
                return f"{MITER_SAW}, supported" if is_long else MITER_SAW
            if saw == SLED and not is_long:
                return f"{TABLE_SAW}, sled"
            if saw == CIRCULAR_SAW:
                return f"{CIRCULAR_SAW}, guide"
            if saw == HAND_SAW:
                break
        return HAND_SAW

    @property
    def for_edge(self) -> str:
        """What straightens an edge that no fence can guide."""
        return f"{CIRCULAR_SAW}, guide" if CIRCULAR_SAW in self.crosscut_with else "hand plane"

    def for_sheet(self, length: Length, width: Length, *, is_along: bool) -> str:
        """The saw that cuts a sheet of this size: a large sheet is cut along a guide, where it lies."""
        if max(length, width) > self.long_board or not is_along:
            has_sled = SLED in self.crosscut_with and max(length, width) <= self.long_board
            if has_sled:
                return f"{TABLE_SAW}, sled"
            return f"{CIRCULAR_SAW}, guide" if CIRCULAR_SAW in self.crosscut_with else HAND_SAW
        return TABLE_SAW


def settled_tools(
    table: ToolsTable,
    rip_kerf: Length | None,
    crosscut_kerf: Length | None,
    listed: Callable[[str, str, str, str], None],
) -> Tools:
    """The tools with nothing left open; what was not given is `listed`: where, name, value, source.

    A saw whose own kerf is not given has the kerf given for its kind of cut. Raises InputError for kerfs that
    contradict each other.
    """
    values: dict[str, Length] = {}
    for name in _LENGTHS:
        given: Length | None = getattr(table, name)
        if given is None and name.endswith("_kerf"):
            given = rip_kerf if name == "table_saw_kerf" else crosscut_kerf
        if given is None:
            row = fact(f"tool.{name}")
            listed("tools", name, row.value, row.cite)
            given = row.length
        values[name] = given
    saws: tuple[str, ...] | None = table.crosscut_with
    if saws is None:
        row = fact("tool.crosscut_with")
        listed("tools", "crosscut_with", row.value, row.cite)
        saws = tuple(row.value.split(", "))
    tools = Tools(crosscut_with=saws, **values)
    found = []
    for name, kerf, least in (
        ("rip_kerf", rip_kerf, tools.rip_kerf),
        ("crosscut_kerf", crosscut_kerf, tools.crosscut_kerf),
    ):
        if kerf is not None and kerf < least:
            wanted = f"{least} or more, the kerf of the widest blade under [tools] that makes such cuts"
            found.append(
                Problem(f"saw, {name}", str(kerf), wanted, "Leave it out: the tools' own kerfs are used then.")
            )
    if found:
        raise InputError(*found)
    return tools
