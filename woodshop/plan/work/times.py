"""The operations that labour is counted by, and their time standards; set-ups are done once for many pieces."""

from dataclasses import dataclass
from fractions import Fraction

from woodshop.reference.facts import fact

SQUARE_FOOT = Fraction(304_8, 10) ** 2  # mm2


@dataclass(frozen=True, slots=True)
class Operation:
    """Work of one kind: its key in a shop file, its name at the bench, what one of it is."""

    key: str
    name: str
    one: str
    table: str = "time"

    @property
    def minutes(self) -> Fraction:
        """The time standard of the reference table, in minutes for one."""
        return fact(f"{self.table}.{self.key}").measure("min")

    @property
    def source(self) -> str:
        """Where that standard comes from."""
        return fact(f"{self.table}.{self.key}").cite


OPERATIONS = (
    Operation("crosscut", "crosscut", "pass"),
    Operation("rip", "rip", "pass"),
    Operation("snip", "cut mesh, cloth, plastic or sheet steel", "cut"),
    Operation("rabbet", "rabbet", "rabbet"),
    Operation("groove", "groove", "groove"),
    Operation("finger", "cut box joints", "finger gap"),
    Operation("notch", "notch or step", "notch"),
    Operation("drill", "bore holes", "hole"),
    Operation("punch", "punch sheet steel", "hole"),
    Operation("passage", "snip openings in mesh", "opening"),
    Operation("fold", "fold mesh or sheet steel", "fold"),
    Operation("corner", "assemble corners", "corner"),
    Operation("glue_up", "glue up", "frame"),
    Operation("staple", "staple", "staple"),
    Operation("paint", "paint outside", "sq ft and coat"),
    Operation("mix", "mix sugar", "bowl"),
    Operation("pack", "pack boards", "board"),
    Operation("fill", "fill with shavings", "box"),
    Operation("bag", "bag a flat kit", "kit"),
    Operation("label", "label", "label"),
    Operation("wrap", "wrap", "hive"),
)
SETUPS = (
    Operation("saw", "set fence or stop", "setting", "setup"),
    Operation("fence", "bring the fence up to the thin-rip stop", "strip", "setup"),
    Operation("cutter", "set up rabbet, groove or joint", "size", "setup"),
    Operation("drill", "set up holes", "size", "setup"),
    Operation("notch", "set up notches", "size", "setup"),
    Operation("run", "open and sweep the shop", "run", "setup"),
)
BY_KEY = {(each.table, each.key): each for each in (*OPERATIONS, *SETUPS)}
