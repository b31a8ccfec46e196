"""Bills and choices of yards in a plan file, reckoned again from its purchases and terms alone.

What made the bills is not imported here: the rules are written out once more.
"""

from fractions import Fraction
from typing import Any

from woodshop.findings import Finding, Severity

_DO = "Plan again."


def bill_findings(raw: dict[str, Any]) -> tuple[Finding, ...]:
    """What is wrong with the bills of a batch's plan file; a file without bills is wrong as well."""
    try:
        return (*_bills(raw), *(_choices(raw["choices"], raw["to_pay"]) if "choices" in raw else ()))
    except (KeyError, TypeError, ValueError, AttributeError, ZeroDivisionError) as why:
        return (_wrong("bills", f"a table that cannot be read ({type(why).__name__})", "bills, terms and purchases"),)


def _bills(raw: dict[str, Any]) -> list[Finding]:
    goods: dict[str, int] = {}
    for purchase in raw["purchases"]:
        if purchase["count"] * purchase["price"] != purchase["total"]:
            said = f"{purchase['count']} x {purchase['price']} given as {purchase['total']}"
            return [_wrong(f"purchases, {purchase['what']}", said, "count times price")]
        goods[purchase["yard"]] = goods.get(purchase["yard"], 0) + purchase["total"]
    terms = {each["yard"]: each for each in raw["terms"]}
    bills = {each["yard"]: each for each in raw["bills"]}
    if set(bills) != set(goods) or not set(bills) <= set(terms) or len(bills) != len(raw["bills"]):
        return [_wrong("bills", ", ".join(bills) or "none", f"one for each of {', '.join(goods) or 'no yards'}")]
    found = []
    for yard, bill in bills.items():
        wanted = _reckoned(goods[yard], terms[yard])
        given = (bill["goods"], bill["fee"], bill["tax"], bill["total"])
        if given != wanted:
            found.append(_wrong(f"bills, {yard}", str(given), f"{wanted}: goods, fee, tax and total in cents"))
        if goods[yard] < terms[yard]["minimum"]:
            found.append(_wrong(f"bills, {yard}", str(goods[yard]), f"its least order of {terms[yard]['minimum']}"))
    together = sum(bill["total"] for bill in bills.values())
    if raw["to_pay"] != together:
        found.append(_wrong("to_pay", str(raw["to_pay"]), f"{together}, the bills together"))
    return found


def _reckoned(goods: int, terms: dict[str, Any]) -> tuple[int, int, int, int]:
    free = terms["free_from"]
    fee = 0 if free is not None and goods >= free else terms["fee"]
    base = goods + fee if terms["tax_on_delivery"] else goods
    doubled = 2 * base * Fraction(terms["tax"]) + 1  # half a cent goes up
    tax = doubled.numerator // (2 * doubled.denominator)
    return goods, fee, tax, goods + fee + tax


def _choices(choices: dict[str, Any], to_pay: int) -> list[Finding]:
    found = []
    pays = to_pay + choices["rack"]
    least = choices["no_choice_below"]
    floors = [each["no_order_below"] for each in choices["looked_at"] if each["no_order_below"] is not None]
    if least > min([*floors, pays]):
        found.append(_wrong("choices, no_choice_below", str(least), f"at most {min([*floors, pays])}"))
    for each in choices["looked_at"]:
        comes, floor = each["comes_to"], each["no_order_below"]
        where = f"choices, {' and '.join(each['yards']) or 'the rack alone'}"
        if comes is not None and (floor is None or comes < floor):
            found.append(_wrong(where, f"{comes}, below {floor}", "an order no cheaper than what none can be below"))
        if comes is not None and comes < pays:
            found.append(_wrong(where, f"{comes}, cheaper than the {pays} taken", "the cheapest order found"))
    return found


def _wrong(place: str, value: str, limits: str) -> Finding:
    return Finding("bill-wrong", Severity.ERROR, place, value, limits, "arithmetic", _DO)
