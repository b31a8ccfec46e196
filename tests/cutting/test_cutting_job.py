"""Reading jobs and plans: every problem at once, with its path; schemas; digests."""

import copy
import json
from pathlib import Path

import jsonschema
import pytest
from referencing import Registry, Resource

from woodshop.cutting.model.job import Stock, job_digest, job_to_json, read_job
from woodshop.cutting.model.plan import plan_to_json, read_plan
from woodshop.cutting.planner.plan_job import plan
from woodshop.errors import InputError

ROOT = Path(__file__).resolve().parents[2]
HOBBY = ROOT / "tests" / "data" / "cutting" / "hobby"
JOB_SCHEMA = json.loads((ROOT / "woodshop" / "cutting" / "model" / "job.schema.json").read_text(encoding="utf-8"))
PLAN_SCHEMA = json.loads((ROOT / "woodshop" / "cutting" / "model" / "plan.schema.json").read_text(encoding="utf-8"))
REGISTRY = Registry().with_resource("urn:woodshop:job:1", Resource.from_contents(JOB_SCHEMA))

GOOD = {
    "format": "woodshop-job/1",
    "unit": "1/64 in",
    "money": "cent",
    "kerf": {"rip": 8, "crosscut": 8},
    "cutting": {"stages": 2, "first": "along", "final_trim": False},
    "rules": {"narrow_below": 48, "parent_wood": 96, "surplus": "drop"},
    "stock": [
        {"id": "s1", "width": 160, "length": 7616, "cost": 620},
        {
            "id": "rack-7",
            "width": 352,
            "length": 2848,
            "cost": 120,
            "count": 1,
            "end_trim": 4,
            "unusable": [[640, 704]],
        },
    ],
    "blanks": [{"id": "side", "width": 160, "length": 1272, "count": 48, "rotate": False}],
}


def problems(job: object) -> list[tuple[str, str]]:
    with pytest.raises(InputError) as caught:
        read_job(job if isinstance(job, str) else json.loads(json.dumps(job)))
    return [(problem.where, str(problem)) for problem in caught.value.problems]


def changed(path: str, value: object) -> dict:
    """A good job with one value replaced; `path` like "stock.1.width"."""
    job = copy.deepcopy(GOOD)
    at = job
    *way, last = path.split(".")
    for step in way:
        at = at[int(step)] if step.isdigit() else at[step]
    at[int(last) if last.isdigit() else last] = value
    return job


@pytest.mark.parametrize("value", [0, -1, True, 1.5, "12", None, 10**9 + 1, [3]])
@pytest.mark.parametrize("path", ["stock.1.width", "stock.0.length", "blanks.0.count", "blanks.0.length"])
def test_numbers_that_are_no_sizes_are_named_with_their_path(path: str, value: object) -> None:
    found = problems(changed(path, value))
    first, number, last = path.split(".")
    assert found[0][0] == f"{first}[{number}].{last}"
    assert "whole number from 1 to 1000000000" in found[0][1]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity"])
def test_numbers_that_json_does_not_have_are_refused(number: str) -> None:  # RFC 8259, section 6
    where, given = problems(json.dumps(GOOD).replace("7616", number))[0]
    assert where == "job"
    assert f"{number} is no number" in given


def test_a_file_that_is_no_json_or_repeats_a_key_is_refused() -> None:
    assert "not JSON" in problems("{")[0][1]
    assert "twice" in problems('{"unit": "a", "unit": "b"}')[0][1]
    assert problems("[1]")[0][0] == "job"


def test_unknown_keys_get_a_suggestion() -> None:
    job = copy.deepcopy(GOOD)
    job["stock"][0]["lenght"] = job["stock"][0].pop("length")
    job["rules"]["least_stripe"] = 3
    found = dict(problems(job))
    assert "Did you mean 'length'?" in found["stock[0].lenght"]
    assert "Did you mean 'least_strip'?" in found["rules.least_stripe"]
    assert "stock[0].length" in found


def test_all_problems_come_at_once() -> None:
    job = changed("stock.0.cost", -5)
    job["blanks"].append({"id": "side", "width": 0, "length": 10, "count": 1})
    job["cutting"]["first"] = "alnog"
    job["kerf"]["rip"] = 1.25
    job["stock"][1]["unusable"] = [[700, 640], [1, 2, 3]]
    found = dict(problems(job))
    assert set(found) == {
        "stock[0].cost",
        "blanks[1].width",
        "blanks[1].id",
        "cutting.first",
        "kerf.rip",
        "stock[1].unusable[0]",
        "stock[1].unusable[1]",
    }
    assert "Did you mean 'along'?" in found["cutting.first"]


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        ("format", "other/1", "format"),
        ("cutting.stages", 4, "cutting.stages"),
        ("cutting.stages", True, "cutting.stages"),
        ("stock.1.end_trim", 1424, "stock[1].end_trim"),
        ("stock.0.edge_trim", 80, "stock[0].edge_trim"),
        ("stock", [], "stock"),
        ("blanks", {}, "blanks"),
        ("rules", {"narrow_below": 5}, "rules"),
        ("rules", {"shortest_rip": 5, "longest_rip": 4}, "rules"),
        ("rules", {"surplus": "keep"}, "rules.surplus"),
        ("blanks.0.rotate", 1, "blanks[0].rotate"),
        ("stock.0.id", "", "stock[0].id"),
    ],
)
def test_contradictions_are_named(path: str, value: object, where: str) -> None:
    assert [found for found, _ in problems(changed(path, value))] == [where]


def test_widths_are_given_everywhere_or_nowhere() -> None:
    job = copy.deepcopy(GOOD)
    del job["blanks"][0]["width"]
    assert problems(job)[0][0] == "blanks[0].width"
    line = {
        "format": "woodshop-job/1",
        "unit": "1",
        "money": "c",
        "kerf": {"rip": 0, "crosscut": 0},
        "stock": [{"id": "s", "length": 10, "cost": 0}],
        "blanks": [{"id": "b", "length": 5, "count": 2}],
    }
    assert read_job(line).stock == (Stock(id="s", length=10, cost=0),)
    line["blanks"][0]["rotate"] = True
    assert problems(line)[0][0] == "blanks[0].rotate"


def test_digest_depends_on_meaning_and_not_on_spelling() -> None:
    job = read_job(GOOD)
    shuffled = json.dumps(dict(reversed(GOOD.items())), indent=3)
    assert job_digest(read_job(shuffled)) == job_digest(job)
    assert job_digest(read_job(job_to_json(job))) == job_digest(job)
    assert job_digest(read_job(changed("stock.0.cost", 621))) != job_digest(job)
    assert len(job_digest(job)) == 64


def test_job_files_agree_with_their_schema() -> None:
    for path in sorted(HOBBY.glob("*.json")):
        job = json.loads(path.read_text(encoding="utf-8"))
        jsonschema.validate(job, JOB_SCHEMA)
        assert job_to_json(read_job(job)) == job
    jsonschema.validate(job_to_json(read_job(GOOD)), JOB_SCHEMA)
    for path, value in (("stock.0.width", 0), ("rules", {"narrow_below": 5}), ("cutting.first", "up")):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(changed(path, value), JOB_SCHEMA)


def test_plan_files_agree_with_their_schema_and_read_back() -> None:
    made = plan(read_job((HOBBY / "D42.json").read_text(encoding="utf-8")))
    text = json.dumps(plan_to_json(made))
    check = jsonschema.Draft202012Validator(PLAN_SCHEMA, registry=REGISTRY)
    check.validate(json.loads(text))
    assert read_plan(text) == made
    spoilt = json.loads(text)
    del spoilt["layouts"][0]["pieces"][0]["y"]
    assert not check.is_valid(spoilt)


def test_plans_with_holes_are_refused_with_paths() -> None:
    made = plan_to_json(plan(read_job((HOBBY / "D42.json").read_text(encoding="utf-8")), effort="quick"))
    made["layouts"][1]["pieces"][0]["x"] = "0"
    made["layouts"][0]["times"] = 0
    made["assurance"] = "sure"
    made["job"]["stock"][2]["width"] = 0
    with pytest.raises(InputError) as caught:
        read_plan(made)
    found = {problem.where for problem in caught.value.problems}
    assert found == {"job.stock[2].width", "layouts[0].times", "layouts[1].pieces[0].x", "assurance"} | {
        where
        for where in found
        if where.startswith("layouts[") and (".y" in where or ".width" in where or ".rotated" in where)
    }
