"""Verifies a written plan: one neutral plan, or a whole batch with its cuts, counts, bills and digest."""

import hashlib
import json
import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.check_lumber import check_lumber_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.checkers.prove_lumber import prove_lumber_plan
from woodshop.cutting.checkers.replay import check_sequence
from woodshop.cutting.model.job import Job, read_job
from woodshop.cutting.model.lumber_job import read_lumber_job
from woodshop.cutting.model.lumber_plan import LUMBER_PLAN_FORMAT, LumberPlan, read_lumber_plan
from woodshop.cutting.model.plan import Plan, read_plan
from woodshop.cutting.model.reading import Reader, parse_json
from woodshop.errors import InputError, Problem, check_format
from woodshop.findings import Finding, Severity
from woodshop.plan.verify_lumber import lumber_problems
from woodshop.plan.verify_rest import rest_findings


def bill_findings(raw: dict[str, Any]) -> tuple[Finding, ...]:
    """Problems with the bills in a batch's plan file. A file without bills is a problem too."""
    try:
        return (*_bills(raw), *(_choices(raw["choices"], raw["to_pay"]) if "choices" in raw else ()))
    except (KeyError, TypeError, ValueError, AttributeError, ZeroDivisionError) as why:
        return (_wrong("bills", f"a table that cannot be read ({type(why).__name__})", "bills, terms and purchases"),)


def _bills(raw: dict[str, Any]) -> Iterator[Finding]:
    goods: dict[str, int] = {}
    for purchase in raw["purchases"]:
        if purchase["count"] * purchase["price"] != purchase["total"]:
            said = f"{purchase['count']} x {purchase['price']} given as {purchase['total']}"
            yield _wrong(f"purchases, {purchase['what']}", said, "count times price")
            return
        goods[purchase["lumberyard"]] = goods.get(purchase["lumberyard"], 0) + purchase["total"]
    terms = {each["lumberyard"]: each for each in raw["terms"]}
    bills = {each["lumberyard"]: each for each in raw["bills"]}
    if set(bills) != set(goods) or not set(bills) <= set(terms) or len(bills) != len(raw["bills"]):
        yield _wrong("bills", ", ".join(bills) or "none", f"one for each of {', '.join(goods) or 'no lumberyards'}")
        return
    for name, bill in bills.items():
        wanted = _billed(goods[name], terms[name])
        given = (bill["goods"], bill["fee"], bill["tax"], bill["total"])
        if given != wanted:
            yield _wrong(f"bills, {name}", str(given), f"{wanted}: goods, fee, tax and total in cents")
        if goods[name] < terms[name]["minimum"]:
            yield _wrong(f"bills, {name}", str(goods[name]), f"its minimum order of {terms[name]['minimum']}")
    together = sum(bill["total"] for bill in bills.values())
    if raw["to_pay"] != together:
        yield _wrong("to_pay", str(raw["to_pay"]), f"{together}, the bills together")


def _billed(goods: int, terms: dict[str, Any]) -> tuple[int, int, int, int]:
    free = terms["free_from"]
    fee = 0 if free is not None and goods >= free else terms["fee"]
    base = goods + fee if terms["tax_on_delivery"] else goods
    doubled = 2 * base * Fraction(terms["tax"]) + 1  # half a cent rounds up
    tax = doubled.numerator // (2 * doubled.denominator)
    return goods, fee, tax, goods + fee + tax


def _choices(choices: dict[str, Any], to_pay: int) -> Iterator[Finding]:
    pays = to_pay + choices["offcuts"]
    least = choices["lower_bound"]
    floors = [each["no_order_below"] for each in choices["looked_at"] if each["no_order_below"] is not None]
    if least > min([*floors, pays]):
        yield _wrong("choices, lower_bound", str(least), f"at most {min([*floors, pays])}")
    for each in choices["looked_at"]:
        comes, floor = each["comes_to"], each["no_order_below"]
        where = f"choices, {' and '.join(each['lumberyards']) or 'offcuts alone'}"
        if comes is not None and (floor is None or comes < floor):
            yield _wrong(where, f"{comes}, below {floor}", "an order no cheaper than its lower bound")
        if comes is not None and comes < pays:
            yield _wrong(where, f"{comes}, cheaper than the {pays} taken", "the cheapest order found")


def _wrong(place: str, value: str, limits: str) -> Finding:
    return Finding("bill-wrong", Severity.ERROR, place, value, limits, "arithmetic", _DO)


KEYS = (
    "format", "made_with", "batch", "on_by", "hives", "lines", "cut_already", "defaults", "findings", "exit_code",
    "total", "currency", "goods", "purchases", "terms", "bills", "to_pay", "unpriced", "marks", "sums", "at_hand",
    "plans", "sequences", "digest",
)  # fmt: skip
MAY_HAVE = ("lumber", "choices", "book", "rest_of", "layout_numbers")
TABLES = {
    "hives": ({"hives", "format", "count", "boards", "order", "form", "due"},),
    "lines": ({"address", "hives", "count", "bought", "arithmetic", "parts"},),
    "defaults": ({"where", "name", "value", "source"},),
    "findings": ({"code", "severity", "place", "value", "limits", "source", "change", "remedy"},),
    "goods": ({"goods", "needed", "allowance", "there", "for"},),
    "purchases": tuple(
        {"group", "what", "lumberyard", "count", "price", "total", "spare", "why", *kind}
        for kind in ((), ("stock",), ("holds",), ("cut",))
    ),
    "terms": ({"lumberyard", "seen", "fee", "free_from", "minimum", "tax", "tax_on_delivery"},),
    "bills": ({"lumberyard", "goods", "fee", "tax", "total"},),
    "unpriced": ({"what", "amount"},),
    "marks": ({"mark", "address", "count"},),
}
"""The keys in the rows of each table. A row must have all keys of one of the sets, and no others."""
_COUNTED = {"lines": ("lines", "count"), "hives": ("hives", "count"), "boards": ("hives", "boards")}
"""The count by which goods are multiplied: its table and its key."""
_SEVERITIES = ("error", "warning", "note")
_READY = "ready-made "
_DO = "Plan again."

Found = Iterator[tuple[str, str, str]]
"""A problem: its place, the value found, and the wanted value."""


def batch_findings(raw: dict[str, Any]) -> tuple[Finding, ...]:
    """Every inconsistency in the plan file. An unchanged file has none."""
    found: list[tuple[str, str, str]] = []
    for part in (_shape, _rows, _pieces, _marks, _stock, lumber_problems, _goods, _sums, _said):
        try:
            found += part(raw)
        except (KeyError, TypeError, ValueError, AttributeError, IndexError, ZeroDivisionError, OverflowError) as why:
            given = f"tables that are not valid ({type(why).__name__})"
            found.append((f"plan, {part.__name__.strip('_')}", given, "a whole plan"))
    source = "the counts of the same file"
    wrong = [Finding("plan-file-disagrees", Severity.ERROR, *each, source, _DO) for each in dict.fromkeys(found)]
    own, given = digest_of(raw), str(raw.get("digest"))
    if given != own:
        damage = "its own digest: something in it was changed"
        wrong.append(Finding("plan-file-changed", Severity.ERROR, "plan, digest", given[:16], own[:16], damage, _DO))
    return tuple(wrong)


def digest_of(raw: dict[str, Any]) -> str:
    """The SHA-256 digest of a plan file without its digest, as UTF-8 JSON with sorted keys and no spaces."""
    rest = {key: value for key, value in raw.items() if key != "digest"}
    text = json.dumps(rest, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _shape(raw: dict[str, Any]) -> Found:
    for key in KEYS:
        if key not in raw:
            yield f"plan, {key}", "nothing", "every table of a plan"
    for key in raw:
        if key not in KEYS and key not in MAY_HAVE:
            yield f"plan, {str(key)[:40]}", "an unknown table", "only the tables of a plan"
    for key in ("sequences", "at_hand"):
        if set(raw[key]) != set(raw["plans"]):
            yield f"plan, {key}", ", ".join(raw[key]) or "none", "one for each plan"
    if not re.fullmatch(r"[A-Z]{3}", raw["currency"]):
        yield "plan, currency", repr(raw["currency"])[:40], "three capital letters"
    book = raw.get("book")
    if book is not None:
        _whole(book["event"])
        if set(book) != {"event", "digest"} or not re.fullmatch(r"[0-9a-f]{64}", book["digest"]):
            yield "plan, book", repr(book)[:40], "the number of an event and a digest"
    if not raw["batch"] or not isinstance(raw["batch"], str):
        yield "plan, batch", repr(raw["batch"])[:40], "a name"
    for where, day in [("on_by", raw["on_by"])] + [
        (f"hives {row['hives']!r}, due", row["due"]) for row in raw["hives"]
    ]:
        if day is not None:
            date.fromisoformat(day)
            if not re.fullmatch(r"\d{4}-\d\d-\d\d", day):
                yield f"plan, {where}", repr(day)[:40], "a day, year first"


def _rows(raw: dict[str, Any]) -> Found:
    for key, kinds in TABLES.items():
        if not isinstance(raw[key], list):
            yield f"plan, {key}", repr(raw[key])[:40], "a list of rows"
            continue
        for n, row in enumerate(raw[key], 1):
            if not isinstance(row, dict) or set(row) not in kinds:
                yield f"{key}, number {n}", repr(row)[:60], f"the keys {', '.join(sorted(kinds[0]))}"


def _pieces(raw: dict[str, Any]) -> Found:
    """Checks that the parts in the units of all lines, minus parts already cut, are the pieces of the cutting jobs."""
    names = [row["hives"] for row in raw["hives"]]
    if len(set(names)) != len(names) or not {row["hives"] for row in raw["lines"]} <= set(names):
        yield "hives", ", ".join(map(str, names))[:60], "each group once, with every group that the lines name"
    for row in raw["hives"]:
        _whole(row["count"])
        _whole(row["boards"])
    lines = [(row["address"], row["hives"]) for row in raw["lines"]]
    if len(set(lines)) != len(lines):
        yield "lines", "a line twice", "each line once"
    blanks = [blank["id"] for plan in raw["plans"].values() for blank in plan["job"]["blanks"]]
    cut_items = {part.split(" / ")[0] for part in (*blanks, *raw["cut_already"])}
    wanted: Counter[str] = Counter()
    for row in raw["lines"]:
        item = row["address"].split(" / ")[0]
        count, parts = _whole(row["count"]), row["parts"]
        _whole(row["bought"])
        if count and not parts and item in cut_items:  # an item that is only filled has none anywhere
            yield f"lines, {row['address']}", "no parts", "the parts in one"
        if not count and parts:
            yield f"lines, {row['address']}", "parts for a count of 0", "none"
        words = row["arithmetic"].rsplit("=", 1)
        if len(words) == 2 and words[1].strip().isdigit() and int(words[1]) != count + row["bought"]:
            yield f"lines, {row['address']}", f"{count}, where {row['arithmetic']}", "the same count"
        for part, each in parts.items():
            if part.split(" / ")[0] != item or not _whole(each):
                yield f"lines, {row['address']}", f"{each} of {part}", f"parts of a {item}"
            wanted[part] += count * each
    cut = {part: _whole(count) for part, count in raw["cut_already"].items()}
    planned: Counter[str] = Counter()
    for material, plan in raw["plans"].items():
        for blank in plan["job"]["blanks"]:
            if blank["id"] in planned:
                yield f"plans, {material}", f"{blank['id']} twice", "each part in one plan"
            planned[blank["id"]] += _whole(blank["count"])
    for part in dict.fromkeys((*wanted, *planned, *cut)):
        have, less = planned[part], cut.get(part, 0)
        if have + less != wanted[part]:
            yield f"plans, {part}", f"{have} to cut and {less} cut", f"{wanted[part]}, as in the lines"


def _marks(raw: dict[str, Any]) -> Found:
    """Checks that each blank has one mark, in the order of the plans, with its count."""
    blanks = [(b["id"], b["count"]) for plan in raw["plans"].values() for b in plan["job"]["blanks"]]
    marks = [(row["address"], row["count"]) for row in raw["marks"]]
    if marks != blanks:
        wrong = next((m for m, b in zip(marks, blanks, strict=False) if m != b), (f"{len(marks)} marks",))
        yield "marks", str(wrong[0]), f"a mark with its count for each of {len(blanks)} parts, in order"
    letters = [row["mark"] for row in raw["marks"]]
    if not all(re.fullmatch(r"[A-HJ-NP-Z]+", each) for each in letters):
        yield "marks", "a mark with other characters", "capital letters except I and O"
    if len(set(letters)) != len(letters):
        yield "marks", "a mark twice", "each mark once"


def _stock(raw: dict[str, Any]) -> Found:
    """Checks that the buy list has exactly the stock in the layouts that is not on hand, at the price in the job."""
    sellers = [row["lumberyard"] for row in raw["terms"]]
    if len(set(sellers)) != len(sellers):
        yield "terms", ", ".join(sellers)[:60], "each lumberyard once"
    taxes = {row["lumberyard"]: Fraction(row["tax"]) for row in raw["terms"]}
    bought = [row for row in raw["purchases"] if "stock" in row]
    listed: Counter[tuple[str, str]] = Counter()
    for row in bought:
        if not _is_spare(row):
            listed[row["group"], row["stock"]] += _whole(row["count"])
    used: Counter[tuple[str, str]] = Counter()
    prices: dict[tuple[str, str], int] = {}
    of_lumber = {name: row for row in raw.get("lumber", ()) for name in row["materials"]}
    for material, plan in raw["plans"].items():
        own = raw["at_hand"][material]
        if material in of_lumber:
            continue  # its boards are those of the bought lumber
        limited = {row["id"] for row in plan["job"]["stock"] if "count" in row}
        if not set(own) <= limited or len(set(own)) != len(own):
            yield f"at_hand, {material}", ", ".join(own)[:60], "stock of the job that has a count"
        for row in plan["job"]["stock"]:
            prices[material, row["id"]] = row["cost"]
        for layout in plan["layouts"]:
            if layout["stock"] not in own:
                used[material, layout["stock"]] += _whole(layout["times"])
    for row in raw.get("lumber", ()):
        limited = {stock["id"] for stock in row["plan"]["job"]["stock"] if "count" in stock}
        if not set(row["at_hand"]) <= limited or len(set(row["at_hand"])) != len(row["at_hand"]):
            yield f"lumber, {row['group']}, at_hand", ", ".join(row["at_hand"])[:60], "stock that has a count"
        for stock in row["plan"]["job"]["stock"]:
            prices[row["group"], stock["id"]] = stock["cost"]
        for board in row["plan"]["bought"]:
            if board["stock"] not in row["at_hand"]:
                used[row["group"], board["stock"]] += _whole(board["times"])
    for key in dict.fromkeys((*used, *listed)):
        if used[key] != listed[key]:
            yield f"purchases, {key[0]}", f"{listed[key]} of {key[1]}", f"{used[key]}, as in the plans"
    for row in bought:
        cost = prices.get((row["group"], row["stock"]))
        with_tax = row["price"] * (1 + taxes.get(row["lumberyard"], Fraction(0)))
        if cost not in (row["price"], int(with_tax)):
            yield f"purchases, {row['what']}", f"at {row['price']}", f"at {cost}, as in the plan"


def _goods(raw: dict[str, Any]) -> Found:
    """Checks that the packs hold the amounts that lines and hives use, and that ready-made items match the lines."""
    held: dict[str, Fraction] = {}
    for row in raw["purchases"]:
        if "holds" in row and not _is_spare(row):
            held[row["group"]] = held.get(row["group"], Fraction(0)) + Fraction(row["holds"]) * _whole(row["count"])
    unpriced = [row["what"] for row in raw["unpriced"]]
    names = [row["goods"] for row in raw["goods"]]
    if len(set(names)) != len(names):
        yield "goods", "goods twice", "each once"
    for row in raw["goods"]:
        name, needed, there = row["goods"], Fraction(row["needed"]), Fraction(row["there"])
        takes = Fraction(0)
        for each in row["for"]:
            place = each["place"]
            if each["of"] not in _COUNTED or _whole(place) < 0 or Fraction(each["each"]) <= 0:
                yield f"goods, {name}", repr(each)[:60], "a line or a group of hives, and how much"
                continue
            table, key = _COUNTED[each["of"]]
            takes += raw[table][place][key] * Fraction(each["each"])
        if takes * Fraction(row["allowance"]) != needed or needed <= 0 or there < 0:
            yield f"goods, {name}", f"{float(needed):g}", f"{float(takes):g}, the sum of its uses"
        short = needed - there
        if name in unpriced and (name in held or short <= 0):
            yield f"unpriced, {name}", "goods that are bought", "only goods without a price"
        if name not in unpriced and held.get(name, Fraction(0)) < short:
            yield f"purchases, {name}", f"{float(held.get(name, 0)):g}", f"at least {float(short):g}"
    for name in dict.fromkeys((*held, *unpriced)):
        if name not in names:
            yield f"goods, {name}", "no use for it", "only goods that are needed"
    ready: Counter[str] = Counter()
    for row in raw["purchases"]:
        if ("stock" in row) + ("holds" in row) + ("cut" in row) + row["group"].startswith(_READY) != 1:
            yield f"purchases, {row['what']}", "not a stock, a pack, cuts or a ready-made item", "one of these"
        if row["group"].startswith(_READY) and not _is_spare(row):
            ready[row["group"].removeprefix(_READY)] += row["count"]
    for row in raw["lines"]:
        ready[row["address"].split(" / ")[0]] -= row["bought"]
    for item, count in ready.items():
        if count:
            yield f"purchases, {item}", f"{count} more than the lines", "the count in the lines"


def _sums(raw: dict[str, Any]) -> Found:
    """Checks the total of the buy list, and the sums with [worth]."""
    total = sum(_whole(row["total"]) for row in raw["purchases"])
    if _whole(raw["total"]) != total:
        yield "total", str(raw["total"]), f"{total}, the sum of the buy list"
    for material, plan in raw["plans"].items():
        evidence = {"solver": "format", "tree": "proof"}.get(plan["bound_kind"], "certificate")
        if plan["bound"] and evidence not in plan:
            yield f"plans, {material}", f"a bound of {plan['bound']} without evidence", "its certificate"
    for material, row in raw["sums"].items():
        plan, cheapest = raw["plans"][material], _weighed(row["cheapest"])
        if row["money"] != plan["cost"]:
            yield f"sums, {material}", str(row["money"]), f"{plan['cost']}, the cost of the plan"
        if row["sum"] != _weighed(row) or row["sum"] > cheapest:
            yield f"sums, {material}", str(row["sum"]), f"{_weighed(row)}, its parts, and no more than {cheapest}"
        if row["planner_says_no_sum_below"] > row["sum"]:
            yield f"sums, {material}", str(row["sum"]), f"at least {row['planner_says_no_sum_below']}"


def _weighed(row: dict[str, Any]) -> int:
    """The weighted sum: money plus work minus offcuts."""
    money, layouts, settings, offcuts = (_whole(row[key]) for key in ("money", "layouts", "settings", "offcuts"))
    return money + layouts + settings - offcuts


def _said(raw: dict[str, Any]) -> Found:
    """Checks the findings, the exit code, the versions, and the defaults with their sources."""
    errors = 0
    for row in raw["findings"]:
        errors += row["severity"] == "error"
        words = [row[key] for key in ("code", "severity", "place", "value", "limits", "source", "change")]
        if not all(isinstance(word, str) for word in words) or row["severity"] not in _SEVERITIES or not row["code"]:
            yield f"findings, {row['code']}", "an incomplete finding", "complete findings"
    if isinstance(raw["exit_code"], bool) or raw["exit_code"] != (1 if errors else 0):
        said = f"exit code {raw['exit_code']} with {errors} errors"
        yield "exit_code", said, "1 if there are errors, else 0"
    solvers = raw["made_with"]["solvers"]
    if not raw["made_with"]["woodshop"] or not solvers or not all(isinstance(v, str) and v for v in solvers.values()):
        yield "made_with", repr(raw["made_with"])[:60], "the versions of the program and its solvers"
    for row in raw["defaults"]:
        if not all(isinstance(row[key], str) for key in ("where", "name", "value", "source")) or not row["source"]:
            yield "defaults", repr(row)[:60], "where, name, value and source"


def _is_spare(row: dict[str, Any]) -> bool:
    if not isinstance(row["spare"], bool):
        raise TypeError("spare")
    return row["spare"]


def _whole(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError("a whole number")
    return value


_PHASES = ("trim", "section", "rip", "crosscut", "block", "finish")


ProofReader = Callable[[str], str]
"""The text of a proof, by the name of its file. Raises InputError."""


def verify_file(
    text: str,
    job_text: str | None = None,
    earlier_text: str | None = None,
    read_proof: ProofReader | None = None,
) -> list[dict[str, Any]]:
    """The result of the independent check for each plan in the file: name, cost, bound, gap, findings.

    `read_proof` is needed if a plan names a proof; without the proof, the plan is not sound. In a batch, the cuts of
    each plan are replayed on a simulated saw and must make its pieces. If the file is the rest of a plan and the
    earlier plan is given, the two are also compared. Raises InputError if the file is neither a plan nor a batch of
    plans, or contradicts itself.
    """
    raw = parse_json(text, "plan")
    if isinstance(raw, dict) and raw.get("format") == LUMBER_PLAN_FORMAT and earlier_text is None:
        return [_lumber_verdict(raw, job_text)]
    job = None if job_text is None else read_job(job_text)
    if isinstance(raw, dict) and str(raw.get("format")).startswith("woodshop-batch/"):
        check_format("plan", raw["format"], "woodshop-batch/2", "Plan again.")
        plans = raw.get("plans")
        if not isinstance(plans, dict) or not (plans or "rest_of" in raw):
            raise InputError(Problem("plan, plans", repr(plans)[:40], "one plan for each material", "Plan again."))
        if job is not None:
            raise InputError(
                Problem(
                    "--job", "one job for a batch of plans", "a single plan file", "Remove --job, or give one plan."
                )
            )
        sequences = raw.get("sequences")
        if not isinstance(sequences, dict):
            given = "nothing" if sequences is None else repr(sequences)[:40]
            raise InputError(Problem("plan, sequences", given, "the cuts of each material in order", "Plan again."))
        rows = []
        at_home = {str(name) for row in _lumber_rows(raw) for name in row["materials"]}
        for name, plan in plans.items():
            read = _with_proof(read_plan(plan), read_proof)
            row = _verdict(name, read, None, _sequence_findings(read, sequences.get(name)))
            rows.append(row | ({"says": "sawn at home from the boards below"} if name in at_home else {}))
        rows += [_lumber_verdict(row["plan"], None, f"boards for {row['group']}") for row in _lumber_rows(raw)]
        return [*rows, *_choices_json(raw), *_bills_json(raw), *_rest_json(raw, earlier_text), _whole_json(raw)]
    if earlier_text is not None:
        wanted = "the plan.json of a batch, made with --rest"
        raise InputError(Problem("--earlier", "an earlier plan for a single plan", wanted, "Remove --earlier."))
    return [_verdict("plan", _with_proof(read_plan(text), read_proof), job)]


def _with_proof(plan: Plan, read_proof: ProofReader | None) -> Plan:
    """The plan with the text of the proof that it names."""
    if plan.proof is None or read_proof is None:
        return plan
    return replace(plan, proof=replace(plan.proof, text=read_proof(plan.proof.file)))


def _whole_json(raw: dict[str, Any]) -> dict[str, Any]:
    """The verdict on the whole file: whether lines, parts, plans, purchases, marks, findings and digest agree."""
    found = [finding.to_json() for finding in batch_findings(raw)]
    counted = "lines, parts, marks, plans, goods, purchases, totals, findings and digest agree"
    warned = "; the checks found errors in the design: do not cut" if raw.get("exit_code") == 1 else ""
    return {"name": "whole file", "findings": found, "says": counted + warned}


def _rest_json(raw: dict[str, Any], earlier_text: str | None) -> list[dict[str, Any]]:
    """The verdict on the account of the rest of a plan, if the plan is a rest."""
    if earlier_text is None:
        if "rest_of" not in raw:
            return []
        found = rest_findings(raw)
        says = "pieces kept and layout numbers agree; with --earlier, everything is counted against the earlier plan"
    else:
        earlier = parse_json(earlier_text, "earlier plan")
        given = earlier.get("format") if isinstance(earlier, dict) else None
        check_format("earlier plan", given, "woodshop-batch/2", "Give the plan.json that the rest was planned from.")
        found = rest_findings(raw, earlier, digest_of(earlier))
        says = "nothing is lost, and nothing is counted twice, since the earlier plan"
    return [{"name": "rest of a plan", "findings": [finding.to_json() for finding in found], "says": says}]


def _choices_json(raw: dict[str, Any]) -> list[dict[str, Any]]:
    """The verdict on each plan for other lumberyards, on which the lower bound for all choices depends."""
    choices = raw.get("choices")
    rows = choices.get("plans") if isinstance(choices, dict) else []
    rows = []
    for n, row in enumerate(rows if isinstance(rows, list) else [], 1):
        if not isinstance(row, dict) or "plan" not in row:
            raise InputError(Problem("plan, choices", f"plan number {n}", "a plan with its lumberyards", "Plan again."))
        sold = row.get("lumberyards")
        names = " and ".join(map(str, sold)) if isinstance(sold, list) and sold else "offcuts alone"
        name, plan = f"{row.get('material')} ({names})", row["plan"]
        is_lumber = isinstance(plan, dict) and plan.get("format") == LUMBER_PLAN_FORMAT
        rows.append(_lumber_verdict(plan, None, name) if is_lumber else _verdict(name, read_plan(plan), None))
    return rows


def _bills_json(raw: dict[str, Any]) -> list[dict[str, Any]]:
    """The verdict on the bills, recalculated from the purchases and the terms."""
    paid, choices = raw.get("to_pay"), raw.get("choices")
    bound, worth = paid, 0
    if isinstance(choices, dict) and isinstance(paid, int):
        bound, worth = choices.get("lower_bound", paid), choices.get("offcuts", 0)
    gap = paid + worth - bound if isinstance(paid, int) and isinstance(bound, int) and isinstance(worth, int) else None
    findings = [finding.to_json() for finding in bill_findings(raw)]
    rows = {"name": "bills", "cost": paid, "bound": bound, "gap": gap}
    return [rows | {"assurance": "calculated again", "findings": findings}]


def _verdict(name: str, plan: Plan, job: Job | None, more: tuple[Finding, ...] = ()) -> dict[str, Any]:
    checked = check_plan(plan, job)
    proof = () if checked else prove_plan(plan)  # if the sizes are wrong, a proof could take any amount of time
    return _row(name, plan, checked + proof + more)


def _row(name: str, plan: Plan | LumberPlan, findings: tuple[Finding, ...]) -> dict[str, Any]:
    return {
        "name": name,
        "cost": plan.cost,
        "bound": plan.bound,
        "gap": plan.gap,
        "assurance": plan.assurance,
        "findings": [finding.to_json() for finding in findings],
    }


def _lumber_rows(raw: dict[str, Any]) -> list[dict[str, Any]]:
    """The bought lumber of a batch. Raises InputError for anything else."""
    rows = raw.get("lumber", [])
    if not isinstance(rows, list) or not all(_is_lumber_row(row) for row in rows):
        wanted = "rows with the keys group, materials, at_hand and plan"
        raise InputError(Problem("plan, lumber", repr(rows)[:40], wanted, "Plan again."))
    return rows


def _is_lumber_row(row: Any) -> bool:
    """Whether a row of the bought lumber has the right keys and kinds of values."""
    if not isinstance(row, dict) or set(row) != {"group", "materials", "at_hand", "plan"}:
        return False
    lists = [row[key] for key in ("materials", "at_hand")]
    words = all(isinstance(each, list) and all(isinstance(word, str) for word in each) for each in lists)
    return words and isinstance(row["group"], str) and isinstance(row["plan"], dict)


def _lumber_verdict(raw: dict[str, Any], job_text: str | None, name: str = "plan") -> dict[str, Any]:
    """The verdict on a plan in several thicknesses."""
    plan = read_lumber_plan(raw)
    checked = check_lumber_plan(plan, None if job_text is None else read_lumber_job(job_text))
    proof = () if checked else prove_lumber_plan(plan)
    return _row(name, plan, checked + proof)


def _sequence_findings(plan: Plan, written: Any) -> tuple[Finding, ...]:
    """Problems with the written cuts of a plan. The cuts of an unsound plan are not replayed."""
    if check_plan(plan):
        return ()
    problems = _sequence_shape(written, len(plan.layouts))
    if problems:
        return tuple(
            Finding("sequence-format", Severity.ERROR, p.where, p.given, p.wanted, "the plan's format", "Plan again.")
            for p in problems
        )
    return check_sequence(plan.job, plan, written)


def _sequence_shape(written: Any, layouts: int) -> list[Problem]:
    """Problems that prevent a replay of a written sequence: keys, types of values, unknown layouts."""
    reader = Reader()
    keys = ("format", "thin_rip", "fence_moves", "moves", "least", "planner_least", "stations", "named")
    top = reader.table(written, "sequence", keys, ())
    if reader.problems:
        return reader.problems
    reader.choice(top, "thin_rip", "sequence", ("free side", "stop"))
    for key in ("fence_moves", "moves", "least", "planner_least"):
        reader.integer(top, key, "sequence", 0)
    for n, row in enumerate(reader.rows(top, "stations", "sequence")):
        place = f"sequence.stations[{n}]"
        station = reader.table(row, place, ("phase", "along", "set", "distance", "stacked", "strokes"), ())
        reader.choice(station, "phase", place, _PHASES)
        reader.choice(station, "set", place, ("fence", "remaining", "strip", "stop", "trim"))
        reader.integer(station, "distance", place, 0)
        for flag in ("along", "stacked"):
            reader.flag(station, flag, place)
        for m, stroke in enumerate(reader.rows(station, "strokes", place)):
            _stroke_shape(reader, stroke, f"{place}.strokes[{m}]")
    for n, row in enumerate(reader.rows(top, "named", "sequence")):
        place = f"sequence.named[{n}]"
        naming = reader.table(row, place, ("phase", "layout", "of", "name"), ())
        reader.choice(naming, "phase", place, _PHASES)
        reader.whole(naming.get("layout", 0), f"{place}.layout", 0, max(0, layouts - 1))
        for key in ("of", "name"):
            reader.word(naming, key, place)
    return reader.problems


def _stroke_shape(reader: Reader, value: Any, place: str) -> None:
    stroke = reader.table(value, place, ("layout", "boards", "of", "passes", "yields"), ())
    for key in ("layout", "boards", "passes"):
        reader.integer(stroke, key, place, 0)
    reader.word(stroke, "of", place)
    names = reader.rows(stroke, "yields", place)
    if not names or not all(isinstance(name, str) for name in names):
        reader.problem(f"{place}.yields", repr(names)[:60], "names, one or more", "Plan again.")
