"""What follows from a settled batch: parts needed, plans, purchases and costs, as frozen values."""

from dataclasses import KW_ONLY, dataclass
from fractions import Fraction

from woodshop.cutting.layouts.fewer_layouts import SetupReport
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Plan
from woodshop.design.batch import Batch, Unit
from woodshop.design.lumber import Need
from woodshop.design.lumberyard.lumberyard_file import Offer
from woodshop.design.lumberyard.lumberyard_tables import Bill
from woodshop.findings import Report
from woodshop.reference.materials import Material
from woodshop.units.lengths import Length, Money


@dataclass(frozen=True, slots=True)
class MaterialJob:
    """One material's cutting job: `grid` is the length of one unit of the job; `needs` by blank id."""

    material: Material
    grid: Length
    job: Job
    needs: tuple[Need, ...]
    offers: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class MaterialPlan:
    """A material's job and the plan found for it; `setups` tells what became of its layouts and of their sum."""

    job: MaterialJob
    plan: Plan
    setups: SetupReport | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """A line of the buy list: what, how many, at what price; `why` is the arithmetic in words.

    `most` is how many the lumberyard has; None where it has enough. `stock` is the id in the cutting job of a board,
    sheet or roll; `holds` the amount in one pack of goods, in their own unit. `is_spare`: it only fills up an order.
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

    @property
    def total(self) -> Money:
        """Count times price."""
        return self.price * self.count


@dataclass(frozen=True, slots=True)
class Unpriced:
    """Something needed that the lumberyard file has no price for."""

    what: str
    amount: str


@dataclass(frozen=True, slots=True)
class UnitCost:
    """What one of a line costs in material: wood by its share, and the rest."""

    address: str
    count: int
    total: Money

    @property
    def each(self) -> str:
        """The cost of one, to the cent."""
        cents = (self.total.minor * 2 + self.count) // (self.count * 2) if self.count else 0
        return str(Money(cents, self.total.currency))


@dataclass(frozen=True, slots=True)
class Choice:
    """One set of lumberyards, with what is bought ready-made at them.

    `least` is what no order from just these lumberyards can come to less than. `pays` is what the planned order
    comes to; None where none was planned, and `why` then says what stands against it.
    """

    lumberyards: tuple[str, ...]
    ready: tuple[str, ...]
    least: Money | None
    pays: Money | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Choices:
    """All choices of lumberyards; `least` is what no choice among them can come to less than.

    `by_solver` says that this rests on a solver's word for some material, where no prices prove it. `offcuts` is the
    worth of the offcuts used, which `least` and `pays` count and no bill does. `tried` are all
    plans that the bounds rest on, each with the lumberyards whose stock it was made for.
    """

    looked_at: tuple[Choice, ...]
    least: Money
    by_solver: bool
    _: KW_ONLY
    offcuts: Money
    one_lumberyard: bool = False
    tried: tuple[tuple[tuple[str, ...], MaterialPlan], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedBatch:
    """The whole result: what is made, from what, at what cost, and what the checks say."""

    batch: Batch
    units: tuple[Unit, ...]
    plans: tuple[MaterialPlan, ...]
    purchases: tuple[Purchase, ...]
    unpriced: tuple[Unpriced, ...]
    costs: tuple[UnitCost, ...]
    report: Report
    bills: tuple[Bill, ...] = ()
    choices: Choices | None = None

    @property
    def to_pay(self) -> Money:
        """What is paid at all lumberyards together: the goods, delivery and tax."""
        return sum((bill.fee + bill.tax for bill in self.bills), self.total)

    @property
    def total(self) -> Money:
        """What all purchases cost together, before delivery and tax, offcuts not counted."""
        total = Money(0, self.batch.lumberyard.currency)
        for purchase in self.purchases:
            total = total + purchase.total
        return total
