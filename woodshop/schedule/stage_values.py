"""The values that stages are made of: operations, blocks, stages, and the lots of a batch."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from woodshop.design.batch import Batch, Hives, order_name
from woodshop.plan.cost import CostRow
from woodshop.plan.work.counts import hives_wrapped

_LAST_PRIORITY = 10  # one more than the lowest priority


@dataclass(frozen=True, slots=True)
class Counted:
    """The things that are done, `first` to `last` of `of`, counted from 1. `noun` is their name in the plural.

    >>> Counted(1, 9, 9, "frames").text, Counted(4, 9, 12, "pieces").text, Counted(2, 2, 3, "boxes").text
    ('9 frames', 'pieces 4 to 9 of 12', 'box 2 of 3')
    """

    first: int
    last: int
    of: int
    noun: str

    @property
    def text(self) -> str:
        """The things as text."""
        one = _ONE.get(self.noun, self.noun[:-1])
        if self.last - self.first + 1 >= self.of:
            return f"{self.of} {self.noun if self.of > 1 else one}"
        if self.last > self.first:
            return f"{self.noun} {self.first} to {self.last} of {self.of}"
        return f"{one} {self.first} of {self.of}"


_ONE = {"boxes": "box", "widths of hive": "width of hive"}


@dataclass(frozen=True, slots=True)
class Op:
    """An operation from `design.settings.times`: its table and key, its count, and its place in the packet.

    `what` replaces the standard words for the operation, if given. `span` says on which things it is done.
    """

    table: str
    key: str
    count: Fraction
    page: str = ""
    what: str = ""
    span: Counted | None = None


@dataclass(frozen=True, slots=True)
class After:
    """A stage that comes before another. The lag is at least `least` minutes; `wanted` is the lag that the user wants.

    If `is_by_share` is true, each part of the later stage waits only for the same part of the lot; otherwise it waits
    for the whole earlier stage. If `is_at_once` is true, the later stage follows without a break.
    """

    stage: str
    least: int = 0
    wanted: int = 0
    is_by_share: bool = False
    is_at_once: bool = False


@dataclass(frozen=True, slots=True)
class Resting:
    """The share of a lot, from `low` to `high`, that is drying already, and the `minutes` that it must still dry."""

    low: Fraction
    high: Fraction
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Operations of a stage that are done in the given order. `setting` is the saw setting for them, or ""."""

    ops: tuple[Op, ...]
    setting: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One kind of work on one lot. `what` completes the sentence "Somebody is to ...".

    `blocks` are done in order. If `is_chain` is false, there is one block of `units` equal things, which can be done
    separately. `rest` is how many minutes each part of the stage takes without people, for example to dry. `uses` is
    the amount of each resource for one thing; `held` is the amount for a part of the stage, whatever its size. `each`
    are the operations done once for each part, such as the drive of a trip. `serves` are the numbers of the units in
    the batch that the stage makes. `done` is the finished share, and `resting` are the shares that are already drying
    today.
    """

    key: str
    kind: str
    what: str
    blocks: tuple[Block, ...] = ()
    skill: str = ""
    people: int = 1
    units: int = 1
    noun: str = ""
    lot: str = ""
    is_chain: bool = False
    each: tuple[Op, ...] = ()
    rest: int | None = None
    uses: Mapping[str, int] = field(default_factory=dict)
    held: Mapping[str, int] = field(default_factory=dict)
    after: tuple[After, ...] = ()
    serves: tuple[int, ...] = ()
    done: Fraction = Fraction(0)
    resting: tuple[Resting, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to do."""
        return self.rest is None and not any(op.count for block in self.blocks for op in block.ops)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """An order, or the user's own hives in one apiary. `name` is the printed name, unique in the batch.

    `groups` are its groups of hives. `hives` is the number of hives for which hardware is wrapped, including spares;
    `to_fit` is the number of hives on which hardware is put. `boards` is the number of packed boards.
    """

    name: str
    groups: tuple[Hives, ...]
    is_own: bool
    due: date | None
    hives: int
    to_fit: int
    boards: int

    @property
    def place(self) -> str:
        """The name of the place where its hives are."""
        return self.groups[0].apiary or "the hives"

    @property
    def weight(self) -> int:
        """The cost of each day that the lot is late: 9 for the first priority, 1 for the last."""
        return _LAST_PRIORITY - min(each.priority for each in self.groups)


def minutes_of(ops: Iterable[Op], batch: Batch) -> Fraction:
    """The minutes of operations, by the shop's time standards."""
    return sum((op.count * batch.work.standards[op.table, op.key].minutes for op in ops), Fraction(0))


def lots_of(batch: Batch, rows: tuple[CostRow, ...], packed: Mapping[str, int]) -> tuple[Lot, ...]:
    """The lots of a batch, in order of due date. `packed` counts the boards to pack, by name of hives or by format."""
    wrapped = hives_wrapped(rows)
    groups: dict[tuple[str, str, str, date | None, bool], list[Hives]] = {}
    for hives in batch.hives:
        if wrapped.get(hives.name) or packed.get(hives.name or hives.format):
            is_own = not hives.customer and not hives.order
            key = (hives.order, hives.customer, hives.apiary if is_own else "", hives.due, is_own)
            groups.setdefault(key, []).append(hives)
    names = [_lot_name(own, is_own, len(groups)) for (*_, is_own), own in groups.items()]
    lots: list[Lot] = []
    for n, ((_, _, _, due, is_own), own) in enumerate(groups.items()):
        name = names[n]
        if names.count(name) > 1:
            name = f"{name}, {f'due {due}' if due else 'no due date'}"
        if name in {lot.name for lot in lots}:
            name = f"{name} ({n + 1})"
        count = sum(wrapped.get(each.name, 0) for each in own)
        boards = sum(packed.get(each.name or each.format, 0) for each in own)
        fitted = 0
        for each in own:
            fitted += max(packed.get(each.name or each.format, 0), min(wrapped.get(each.name, 0), each.count))
        lots.append(
            Lot(name=name, groups=tuple(own), is_own=is_own, due=due, hives=count, to_fit=fitted, boards=boards)
        )
    return tuple(sorted(lots, key=lambda lot: (lot.due is None, lot.due or date.max)))


def _lot_name(own: Sequence[Hives], is_own: bool, lots: int) -> str:
    if not is_own:
        return order_name(own[0])
    if own[0].apiary:
        return own[0].apiary
    return "own hives" if len(own) > 1 or lots > 1 else own[0].name or "own hives"
