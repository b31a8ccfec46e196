"""The results of a settled batch: parts needed, plans, purchases and costs, as frozen values."""

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass, field
from fractions import Fraction

from woodshop.cutting.layouts.weigh import Weighed
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.lumber_job import LumberJob
from woodshop.cutting.model.lumber_plan import LumberPlan
from woodshop.cutting.model.plan import Plan
from woodshop.design.batch import Batch, Unit
from woodshop.design.lumber import Need
from woodshop.design.lumberyard.lumberyard_file import Offer
from woodshop.design.lumberyard.lumberyard_tables import Bill
from woodshop.findings import Report
from woodshop.reference.materials import Material
from woodshop.units.lengths import Length, Money

AND = " and "
"""Between the materials in the name of a group."""


@dataclass(frozen=True, slots=True)
class MaterialJob:
    """One material's cutting job. `grid` is the length of one unit of the job; `needs` is keyed by blank id.

    `lumber` is set for boards that are resawn, or cut where they are bought. `job` is then its base, and the parts are
    of the materials that it names, of which `material` is the first.
    """

    material: Material
    grid: Length
    job: Job
    needs: tuple[Need, ...]
    offers: tuple[Offer, ...]
    lumber: LumberJob | None = None

    @property
    def materials(self) -> tuple[str, ...]:
        """The names of the materials of its parts."""
        return (self.material.name,) if self.lumber is None else tuple(dict.fromkeys(self.lumber.thicknesses))

    @property
    def group(self) -> str:
        """The name of the group of its purchases: its materials."""
        return AND.join(self.materials)

    @property
    def spoken(self) -> str:
        """What it is called in a sentence: "3/4 in board and 5/8 in board"."""
        return AND.join(dict.fromkeys(need.part.material.spoken for need in self.needs)) or self.material.spoken


@dataclass(frozen=True, slots=True)
class PlanSums:
    """The weighted sums of cost, work and offcuts with [worth], for the plan and for the cheapest plan found.

    `least` is the planner's lower bound on the sum of any plan.
    """

    plan: Weighed
    cheapest: Weighed
    least: int


@dataclass(frozen=True, slots=True)
class MaterialPlan:
    """A material's cutting job and its plan. `sums` are the plan's sums with [worth], or None without [worth].

    `numbers` are the printed numbers of its layouts if these are not simply 1, 2, 3 ..., as in the rest of a plan.
    """

    job: MaterialJob
    plan: Plan
    sums: PlanSums | None = None
    numbers: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class BoughtLumber:
    """Boards that are resawn, or cut where they are bought, as planned. `job` has its `lumber` set.

    The plans of what is sawn from them at home are among the plans of their materials, where boards cost nothing.
    """

    job: MaterialJob
    plan: LumberPlan


def stock_used(made: MaterialPlan | BoughtLumber) -> dict[str, int]:
    """How many pieces of each stock a plan uses, as they are bought, by the id of the stock."""
    found: dict[str, int] = {}
    for each in made.plan.layouts if isinstance(made, MaterialPlan) else made.plan.bought:
        found[each.stock] = found.get(each.stock, 0) + each.times
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """A line of the buy list: item, count, price; `why` describes the calculation.

    `most` is the number that the lumberyard has, or None if it has enough. `stock` is the id of a board, sheet or roll
    in the cutting job. `holds` is the amount in one pack of goods, in the goods' own unit. If `is_spare` is true, the
    line is bought only to fill up an order. If `is_cut` is true, the line is for cuts across boards.
    """

    group: str
    what: str
    count: int
    price: Money
    why: str
    lumberyard: str = ""
    most: int | None = None
    stock: str = ""
    holds: Fraction | None = None
    is_spare: bool = False
    is_cut: bool = False

    @property
    def total(self) -> Money:
        """The count times the price."""
        return self.price * self.count


@dataclass(frozen=True, slots=True)
class Unpriced:
    """Goods that are needed but have no price in the lumberyard file."""

    what: str
    amount: str


@dataclass(frozen=True, slots=True)
class UnitCost:
    """The material cost of a line, or of the filling of a group of hives. `each` is the cost of one unit."""

    address: str
    count: int
    total: Money

    @property
    def each(self) -> str:
        """The cost of one unit, to the cent."""
        cents = (self.total.minor * 2 + self.count) // (self.count * 2) if self.count else 0
        return str(Money(cents, self.total.currency))


@dataclass(frozen=True, slots=True)
class Choice:
    """One set of lumberyards, with the ready-made items bought there.

    `least` is the lower bound on an order from exactly these lumberyards. `pays` is the total of the planned order, or
    None if none was planned; `why` is then the reason.
    """

    lumberyards: tuple[str, ...]
    ready: tuple[str, ...]
    least: Money | None
    pays: Money | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Choices:
    """All choices of lumberyards; `least` is the lower bound over all of them.

    `by_solver` says whether the bound for any material relies on a solver, without a certificate. `offcuts` is the
    value of the offcuts used, which is included in `least` and `pays` but not in any bill. `tried` lists all plans
    behind the bounds, each with its group and the lumberyards of its stock.
    """

    looked_at: tuple[Choice, ...]
    least: Money
    by_solver: bool
    _: KW_ONLY
    offcuts: Money
    one_lumberyard: bool = False
    tried: tuple[tuple[tuple[str, ...], str, Plan | LumberPlan], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedBatch:
    """The complete result: items, materials, costs and findings.

    In the rest of a plan, `cut_before` lists the parts that need no more pieces, and `there` is the number of usable
    pieces already cut, keyed by the address of the part. For one customer, these are all parts for that customer.
    `lumber` are the boards that are resawn, or cut where they are bought; `plans` has what is sawn from them at home.
    """

    batch: Batch
    units: tuple[Unit, ...]
    plans: tuple[MaterialPlan, ...]
    purchases: tuple[Purchase, ...]
    unpriced: tuple[Unpriced, ...]
    costs: tuple[UnitCost, ...]
    report: Report
    bills: tuple[Bill, ...] = ()
    choices: Choices | None = None
    lumber: tuple[BoughtLumber, ...] = ()
    cut_before: tuple[Need, ...] = ()
    there: Mapping[str, int] = field(default_factory=dict)

    @property
    def priced(self) -> "tuple[MaterialPlan | BoughtLumber, ...]":
        """The plan that costs money of each material, or of all materials that come of the same boards."""
        of = {name: each for each in self.lumber for name in each.job.materials}
        found = {id(one): one for each in self.plans for one in (of.get(each.job.material.name, each),)}
        return tuple(found.values())

    @property
    def gap(self) -> int:
        """How many cents the stock of a cheaper plan could cost less at most."""
        return sum(each.plan.gap for each in self.priced)

    @property
    def unpriced_goods(self) -> str:
        """The names of the goods that no lumberyard sells, which no total includes."""
        return ", ".join(dict.fromkeys(goods.what for goods in self.unpriced))

    @property
    def to_pay(self) -> Money:
        """The total to pay at all lumberyards: goods, delivery and tax."""
        return sum((bill.fee + bill.tax for bill in self.bills), self.total)

    @property
    def total(self) -> Money:
        """The total of all purchases, before delivery and tax, without offcuts."""
        total = Money(0, self.batch.lumberyard.currency)
        for purchase in self.purchases:
            total = total + purchase.total
        return total

    def is_example_price(self, purchase: Purchase) -> bool:
        """Whether the price of a purchase is still that of the example that its lumberyard's file began from."""
        what = purchase.what.removesuffix(f" ({purchase.lumberyard})")
        return (purchase.lumberyard, what, purchase.price) in self.batch.lumberyard.example_prices

    @property
    def example_cost(self) -> Money:
        """How much of the total is bought at prices of an example."""
        cents = sum(each.total.minor for each in self.purchases if self.is_example_price(each))
        return Money(cents, self.batch.lumberyard.currency)
