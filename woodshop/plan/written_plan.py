"""Reads the planned batch in a plan.json, for the design that the plan was made from."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from woodshop.cutting.layouts.weigh import Weighed, weigh
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.lumber_job import read_lumber_job
from woodshop.cutting.model.lumber_plan import LUMBER_PLAN_FORMAT, read_lumber_plan
from woodshop.cutting.model.plan import Plan, read_plan
from woodshop.design.batch import Batch, Unit
from woodshop.design.settings.buying import wishes_for
from woodshop.errors import InputError, Problem
from woodshop.findings import Report
from woodshop.plan.buy_list import size, uses
from woodshop.plan.buying.groups import PlanBook, Variant, groups_of, variants_of, with_notes
from woodshop.plan.lumber_at_home import CUTS, at_home
from woodshop.plan.plan_batch import book_to_json, bought_batch
from woodshop.plan.rest.earlier_plan import EarlierPlan, read_sealed
from woodshop.plan.values import (
    BoughtLumber,
    Choice,
    Choices,
    MaterialJob,
    MaterialPlan,
    PlannedBatch,
    PlanSums,
    Purchase,
    Unpriced,
)
from woodshop.units.lengths import Money

_MOST_NAMED = 4  # differences in a message; further ones are counted


def read_planned(text: str, where: str, batch: Batch, units: tuple[Unit, ...], report: Report) -> PlannedBatch:
    """The planned batch in the text of a plan.json. `batch`, `units` and `report` are those of its design.
    Errors say `where` the text is from.

    It equals the batch as planned, except that due dates, defaults and findings are those of the current design.
    Everything that is made, cut, bought or paid must be as planned. Raises InputError as `read_sealed` does, and also
    for a plan of another batch, for the rest of a plan, and if the design has changed since. Raises NothingToCutError
    if the design can no longer be cut.
    """
    raw, earlier = read_sealed(text, where)
    _refuse_other(raw, earlier, where, batch)
    try:
        return _Reading(raw, earlier, where, batch, units).planned(report)
    except (KeyError, TypeError, AttributeError, ValueError, ZeroDivisionError) as why:
        if isinstance(why, InputError):
            raise
        given = f"an incomplete plan ({type(why).__name__}: {why})"
        raise InputError(Problem(where, given, "an unchanged plan.json of this version", "Plan it again.")) from None


def _refuse_other(raw: Mapping[str, Any], earlier: EarlierPlan, where: str, batch: Batch) -> None:
    if earlier.batch != batch.name:
        do = "Give the plan.json of this batch."
        raise InputError(Problem(where, f"a plan of {earlier.batch!r}", f"one of {batch.name!r}", do))
    if "rest_of" in raw:
        given, wanted = "the rest of an earlier plan", "the plan of the whole batch"
        raise InputError(Problem(where, given, wanted, "Give the plan.json that the rest was planned from."))


class _Reading:
    """Reads one file for one design."""

    def __init__(
        self, raw: dict[str, Any], earlier: EarlierPlan, where: str, batch: Batch, units: tuple[Unit, ...]
    ) -> None:
        self.raw, self.earlier, self.where = raw, earlier, where
        self.variant = self._variant(batch, units)
        self.batch = self.variant.batch
        self.currency = batch.lumberyard.currency

    def planned(self, report: Report) -> PlannedBatch:
        """The planned batch. Raises InputError with the differences from the design."""
        self._refuse(*self._other_book(), *self._other_lines(), *self._other_goods())
        jobs = self._jobs()
        lumber = self._lumber(jobs)
        purchases = tuple(self._purchase(row, jobs) for row in self.raw["purchases"])
        made_of = [lumber.get(name) or self._plan(job, self.earlier.plans[job.material]) for name, job in jobs.items()]
        plans, bought = at_home(made_of, self.batch.unit)
        self._refuse(*(f"{each.job.material.name}: other boards" for each in plans if each.plan != self._written(each)))
        made = bought_batch(
            self.batch,
            self.variant.units,
            plans,
            lumber=bought,
            purchases=purchases,
            unpriced=tuple(Unpriced(str(row["what"]), str(row["amount"])) for row in self.raw["unpriced"]),
            report=with_notes(report, self.variant),
        )
        written = [(row["lumberyard"], row["total"]) for row in self.raw["bills"]]
        if written != [(bill.lumberyard, bill.total.minor) for bill in made.bills]:
            self._refuse("other charges for delivery or tax")
        return replace(made, choices=self._choices(self.raw["choices"])) if "choices" in self.raw else made

    def _written(self, each: MaterialPlan) -> Plan | None:
        return self.earlier.plans.get(each.job.material)

    def _lumber(self, jobs: Mapping[str, MaterialJob]) -> dict[str, BoughtLumber]:
        """The bought lumber by its group. Raises InputError for a job that is not as planned."""
        found = {str(row["group"]): read_lumber_plan(row["plan"]) for row in self.raw.get("lumber", ())}
        wanted = {name: job for name, job in jobs.items() if job.lumber is not None}
        self._refuse(*(f"{name}: other boards, or other cuts" for name in {*found} ^ {*wanted}))
        self._refuse(
            *(f"{name}: other boards, cuts or parts" for name in found if found[name].job != wanted[name].lumber)
        )
        return {name: BoughtLumber(wanted[name], plan) for name, plan in found.items()}

    def _refuse(self, *differences: str) -> None:
        if differences:
            more = len(differences) - _MOST_NAMED
            named = "; ".join(differences[:_MOST_NAMED]) + (f"; and {more} more" if more > 0 else "")
            given = f"a plan of the design as it was before a change ({named})"
            do = "Plan again. If wood is already bought or cut, use woodshop plan --rest."
            raise InputError(Problem(self.where, given, "a plan of the design as it is", do))

    def _variant(self, batch: Batch, units: tuple[Unit, ...]) -> Variant:
        """The batch with the ready-made items that the plan buys. If no choice matches, everything is made."""
        every = variants_of(batch, units)
        bought = {(row["address"], row["hives"]) for row in self.raw["lines"] if row["bought"]}
        for each in every:
            if {(line.address, line.hives.name) for line in each.batch.lines if line.bought} == bought:
                return each
        return every[0]

    def _other_book(self) -> Iterator[str]:
        written, own = self.raw.get("book"), book_to_json(self.batch).get("book")
        if written != own:
            then, now = ("no book" if each is None else f"the book to event {each['event']}" for each in (written, own))
            yield f"it counts {then}, the design {now}"

    def _other_lines(self) -> Iterator[str]:
        if self.earlier.currency != self.currency:
            yield f"prices were in {self.earlier.currency}, and are in {self.currency}"
        now = {(line.address, line.hives.name): (line.count, line.bought) for line in self.batch.lines}
        then = {(row["address"], row["hives"]): (row["count"], row["bought"]) for row in self.raw["lines"]}
        for key in dict.fromkeys((*then, *now)):
            if then.get(key) != now.get(key):
                hives = f" for {key[1]}" if key[1] else ""
                was, wanted = (sum(counts.get(key, (0, 0))) for counts in (then, now))
                yield f"{key[0]}{hives}: {was} planned, {wanted} wanted"

    def _other_goods(self) -> Iterator[str]:
        now = {each.goods: each.amount for each in uses(self.batch, self.variant.units)}
        then = {row["goods"]: Fraction(row["needed"]) for row in self.raw["goods"]}
        for goods in dict.fromkeys((*then, *now)):
            if then.get(goods) != now.get(goods):
                yield f"another amount of {goods}"

    def _jobs(self) -> dict[str, MaterialJob]:
        """The cutting jobs by material, in the order of the plan, with the stock of the lumberyards in the plan.

        Raises InputError for a job that is not as planned.
        """
        groups = groups_of(self.variant, PlanBook())
        needed = [name for name, group in groups.items() if group.job_for(group.sellers) is not None]
        planned = {material.name: plan.job for material, plan in self.earlier.plans.items()}
        planned = _grouped(planned, self.raw.get("lumber", ()))
        self._refuse(*(f"{name}: planned, but not needed" for name in planned if name not in needed))
        self._refuse(*(f"{name}: needed, but not planned" for name in needed if name not in planned))
        found: dict[str, MaterialJob] = {}
        for name, job in planned.items():
            own = {stock.id for stock in job.stock}
            offers = [offer for offer in self.batch.lumberyard.offers if offer.id in own and not offer.label]
            wanted = groups[name].job_for(frozenset(offer.lumberyard for offer in offers))
            if wanted is not None:
                found[name] = wanted[0]
        self._refuse(
            *(
                f"{name}: {difference}"
                for name, job in planned.items()
                if (difference := _difference(job, found[name].job if name in found else None))
            )
        )
        marks = [(row["mark"], row["address"]) for row in self.raw["marks"]]
        if marks != [(need.mark, need.address) for job in found.values() for need in job.needs]:
            self._refuse("other letters on the parts")
        return found

    def _plan(self, job: MaterialJob, plan: Plan) -> MaterialPlan:
        wishes = wishes_for(self.batch.worth, job.material, job.grid, job.job)
        row = self.raw["sums"].get(job.material.name)
        weighed = None if row is None else _weighed(row)
        if weighed != (None if wishes is None else weigh(plan.job, plan.layouts, wishes)):
            self._refuse(f"{job.material.name}: another value of work or offcuts")
        if row is None or weighed is None:
            return MaterialPlan(job, plan)
        return MaterialPlan(job, plan, PlanSums(weighed, _weighed(row["cheapest"]), row["planner_says_no_sum_below"]))

    def _purchase(self, row: Mapping[str, Any], jobs: Mapping[str, MaterialJob]) -> Purchase:
        """A line of the buy list. Raises InputError if it is not for sale at this price."""
        lumberyard = self.batch.lumberyard
        holds = None if "holds" not in row else Fraction(row["holds"])
        most = None
        for_sale: list[tuple[str, str, Money]]
        if row.get("cut"):
            offers = [offer for offer in jobs[row["group"]].offers if offer.cuts is not None]
            for_sale = [(CUTS, offer.lumberyard, offer.cuts.price) for offer in offers if offer.cuts is not None]
        elif "stock" in row:
            offers = [offer for offer in jobs[row["group"]].offers if offer.id == row["stock"]]
            for_sale = [(offer.what, offer.lumberyard, offer.price) for offer in offers]
            most = next((offer.count for offer in offers), None)
        elif holds is not None:
            packs = [pack for pack in lumberyard.packs if pack.goods == row["group"] and size(pack) == holds]
            for_sale = [(pack.what, pack.lumberyard, pack.price) for pack in packs]
        else:
            for_sale = [(ready.what, ready.lumberyard, ready.price) for ready in lumberyard.ready]
        price = Money(row["price"], self.currency)
        if (row["what"], row["lumberyard"], price) not in for_sale:
            self._refuse(f"{row['what']}: not for sale for {price}")
        return Purchase(
            group=str(row["group"]),
            what=str(row["what"]),
            count=int(row["count"]),
            price=price,
            why=str(row["why"]),
            lumberyard=str(row["lumberyard"]),
            most=most,
            stock=str(row.get("stock", "")),
            holds=holds,
            is_spare=bool(row["spare"]),
            is_cut=bool(row.get("cut")),
        )

    def _choices(self, raw: Mapping[str, Any]) -> Choices:
        def money(cents: int | None) -> Money | None:
            return None if cents is None else Money(cents, self.currency)

        return Choices(
            tuple(
                Choice(
                    tuple(row["lumberyards"]),
                    tuple(row["ready_made"]),
                    money(row["no_order_below"]),
                    money(row["comes_to"]),
                    str(row["why_not"]),
                )
                for row in raw["looked_at"]
            ),
            Money(raw["lower_bound"], self.currency),
            bool(raw["by_solver"]),
            offcuts=Money(raw["offcuts"], self.currency),
            one_lumberyard=bool(raw["one_lumberyard"]),
            tried=tuple(
                (
                    tuple(row["lumberyards"]),
                    str(row["material"]),
                    (read_lumber_plan if row["plan"]["format"] == LUMBER_PLAN_FORMAT else read_plan)(row["plan"]),
                )
                for row in raw["plans"]
            ),
        )


def _grouped(planned: dict[str, Job], rows: Iterable[Mapping[str, Any]]) -> dict[str, Job]:
    """The jobs by group: the materials of bought lumber are one group, whose job has the boards that are bought."""
    of = {str(name): row for row in rows for name in row["materials"]}
    found: dict[str, Job] = {}
    for name, job in planned.items():
        row = of.get(name)
        found[name if row is None else str(row["group"])] = (
            job if row is None else read_lumber_job(row["plan"]["job"]).base
        )
    return found


def _weighed(row: Mapping[str, Any]) -> Weighed:
    return Weighed(*(int(row[key]) for key in ("money", "layouts", "settings", "offcuts")))


def _difference(planned: Job, wanted: Job | None) -> str:
    """A description of the difference between two cutting jobs, or "" if they are equal."""
    if planned == wanted:
        return ""
    if wanted is None:
        return "no lumberyard of the plan sells it"
    if planned.stock != wanted.stock:
        return "other boards, sheets or prices"
    if planned.blanks != wanted.blanks:
        return "other parts or sizes"
    return "another kerf" if planned.kerf != wanted.kerf else "other rules for the saw"
