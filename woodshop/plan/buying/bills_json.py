"""What is paid and where, for plan.json: terms, bills, and the choices of yards with the plans their bounds rest on."""

from typing import Any

from woodshop.cutting.model.plan import plan_to_json
from woodshop.plan.values import Choices, PlannedBatch


def bills_to_json(planned: PlannedBatch) -> dict[str, Any]:
    """Keys of the envelope: `terms`, `bills`, `to_pay`, and `choices` where yards were chosen among. Money in cents."""
    told: dict[str, Any] = {
        "terms": [
            {
                "yard": terms.yard,
                "seen": terms.seen.isoformat(),
                "fee": terms.fee,
                "free_from": terms.free_from,
                "minimum": terms.minimum,
                "tax": str(terms.tax),
                "tax_on_delivery": bool(terms.tax_on_delivery),
            }
            for terms in planned.batch.yard.terms
        ],
        "bills": [
            {
                "yard": bill.yard,
                "goods": bill.goods.minor,
                "fee": bill.fee.minor,
                "tax": bill.tax.minor,
                "total": bill.total.minor,
            }
            for bill in planned.bills
        ],
        "to_pay": planned.to_pay.minor,
    }
    return told if planned.choices is None else told | {"choices": _choices(planned.choices)}


def _choices(choices: Choices) -> dict[str, Any]:
    return {
        "no_choice_below": choices.least.minor,
        "by_solver": choices.by_solver,
        "rack": choices.rack.minor,
        "one_yard_only": choices.one_yard_only,
        "looked_at": [
            {
                "yards": list(each.yards),
                "ready_made": list(each.ready),
                "no_order_below": None if each.least is None else each.least.minor,
                "comes_to": None if each.pays is None else each.pays.minor,
                "why_not": each.why,
            }
            for each in choices.looked_at
        ],
        "plans": [
            {"yards": list(yards), "material": each.job.material.name, "plan": plan_to_json(each.plan)}
            for yards, each in choices.tried
        ],
    }
