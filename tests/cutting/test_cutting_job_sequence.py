"""The whole job in sawing order: the simulated saw ends with the plan's pieces; moves are as few as can be."""

import copy
import json
import random
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import pairwise, product
from typing import Any

import pytest

from tests.cutting.middling_jobs import planned_sheets
from tests.nightly import IS_NIGHT, spread
from tests.once import hobby_plan
from woodshop.cutting.checkers.replay import check_sequence
from woodshop.cutting.model.job import Job, read_job
from woodshop.cutting.model.plan import Plan
from woodshop.cutting.order.job_sequence import FREE_SIDE, STOP, _merged, _shortest, job_sequence, sequence_to_json
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.cutting.planner.plan_job import plan


def written(made: Plan, thin_rip: str = FREE_SIDE) -> dict[str, Any]:
    sequence = job_sequence(made.job, made, thin_rip=thin_rip)
    return json.loads(json.dumps(sequence_to_json(sequence)))


def rim_job() -> Job:
    """Rims, deep sides and quarter-inch strips from 3/4 in stock, on the marks of 1/64 in."""
    return read_job(
        {
            "format": "woodshop-job/1",
            "unit": "1/64 in",
            "money": "cent",
            "kerf": {"rip": 8, "crosscut": 8},
            "cutting": {"stages": 2, "first": "along"},
            "rules": {"narrow_below": 48, "parent_wood": 128, "least_strip": 8, "longest_rip": 6144, "surplus": "drop"},
            "stock": [
                {"id": "1x3", "length": 6144, "width": 160, "cost": 544, "end_trim": 32},
                {"id": "1x6", "length": 6144, "width": 352, "cost": 1112, "end_trim": 32},
                {"id": "1x12", "length": 7680, "width": 720, "cost": 2900, "end_trim": 32},
            ],
            "blanks": [
                {"id": "side", "length": 1272, "width": 160, "count": 24},
                {"id": "end", "length": 944, "width": 160, "count": 18},
                {"id": "deep", "length": 1272, "width": 352, "count": 8},
                {"id": "strip", "length": 928, "width": 16, "count": 30},
            ],
        }
    )


@cache
def rim_plan() -> Plan:
    return plan(rim_job())


@pytest.mark.invariant
def test_the_replay_of_random_jobs_ends_with_the_pieces() -> None:
    replayed = 0
    seeds = spread(range(30), 10)
    for seed in seeds:
        made = planned_sheets(seed)
        if made is None:
            continue
        for thin_rip in (FREE_SIDE, STOP):
            values = written(made, thin_rip)
            assert check_sequence(made.job, made, values) == (), seed
            apart = sum(1 for lay in made.layouts for cut in saw_cuts(made.job, lay) if cut.count)
            assert values["least"] <= values["moves"] <= apart + values["fence_moves"]
        replayed += 1
    assert replayed > len(seeds) / 2


def test_a_hobby_job_takes_no_more_moves_than_can_be() -> None:
    """Widths and lengths of the job are met once each."""
    made = hobby_plan("F6")
    values = written(made)
    assert check_sequence(made.job, made, values) == ()
    assert values["moves"] == values["least"]


def test_against_a_stop_thin_strips_of_one_width_take_one_setting() -> None:
    made = rim_plan()
    free, stop = written(made, FREE_SIDE), written(made, STOP)
    for values in (free, stop):
        assert check_sequence(made.job, made, values) == ()
    strips = [station["distance"] for station in stop["stations"] if station["set"] == "strip"]
    remaining: dict[tuple[int, str], list[int]] = {}
    for station in free["stations"]:
        if station["set"] == "remaining":
            for stroke in station["strokes"]:
                remaining.setdefault((stroke["layout"], stroke["of"]), []).append(station["distance"])
    assert strips == [16]
    assert len(stop["stations"]) < len(free["stations"])
    made_strips = sum(lay.times * sum(c.is_narrow for c in saw_cuts(made.job, lay)) for lay in made.layouts)
    assert stop["fence_moves"] == made_strips >= 5, "the fence comes up to the board once for each strip"
    assert stop["moves"] == len(stop["stations"]) + made_strips
    assert free["fence_moves"] == 0
    assert free["moves"] == len(free["stations"])
    steps = {a - b for distances in remaining.values() for a, b in pairwise(distances)}
    assert steps == {24}, "the fence follows by strip plus kerf"


def test_wide_rips_come_widest_first_on_every_board_and_narrow_ones_before_them() -> None:
    made = rim_plan()
    sequence = job_sequence(made.job, made)
    rips: dict[tuple[int, str], list[tuple[str, int]]] = {}
    for station in sequence.stations:
        for stroke in station.strokes:
            if station.phase == "rip":
                rips.setdefault((stroke.layout, stroke.saw_cut.of), []).append(station.setting[1:])
    assert len(rips) > 2
    for own in rips.values():
        kinds = [kind for kind, _ in own]
        assert kinds == sorted(kinds, key=lambda kind: kind != "remaining")
        wide = [width for kind, width in own if kind == "fence"]
        assert wide == sorted(wide, reverse=True)


def test_equal_crosscuts_are_stacked() -> None:
    made = rim_plan()
    sequence = job_sequence(made.job, made)
    stations = [
        station for station in sequence.stations if station.phase == "crosscut" and station.setting[1] == "stop"
    ]
    assert all(station.stacked for station in stations)
    assert len({station.setting for station in stations}) == len(stations)


Edit = Callable[[dict[str, Any], random.Random], None]


def _cut_station(values: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    return rng.choice(values["stations"])


def _distance(values: dict[str, Any], rng: random.Random) -> None:
    _cut_station(values, rng)["distance"] += rng.choice((-1, 1))


def _dropped(values: dict[str, Any], rng: random.Random) -> None:
    strokes = _cut_station(values, rng)["strokes"]
    del strokes[rng.randrange(len(strokes))]


def _repeated(values: dict[str, Any], rng: random.Random) -> None:
    strokes = _cut_station(values, rng)["strokes"]
    strokes.append(copy.deepcopy(rng.choice(strokes)))


def _renamed(values: dict[str, Any], rng: random.Random) -> None:
    rng.choice(_cut_station(values, rng)["strokes"])["yields"][0] = "nothing known"


def _turned(values: dict[str, Any], rng: random.Random) -> None:
    station = _cut_station(values, rng)
    station["along"] = not station["along"]


def _boards(values: dict[str, Any], rng: random.Random) -> None:
    rng.choice(_cut_station(values, rng)["strokes"])["boards"] += 1


def _moved(values: dict[str, Any], rng: random.Random) -> None:
    values["moves"] += 1


def _fence(values: dict[str, Any], rng: random.Random) -> None:
    values["fence_moves"] += 1


def _least(values: dict[str, Any], rng: random.Random) -> None:
    values["least"] += rng.choice((-1, 1))


def _other_way(values: dict[str, Any], rng: random.Random) -> None:
    values["thin_rip"] = STOP


def _one_trim(values: dict[str, Any], rng: random.Random) -> None:
    trims = [stroke for station in values["stations"] if station["set"] == "trim" for stroke in station["strokes"]]
    rng.choice(trims)["passes"] += 1


def _late(values: dict[str, Any], rng: random.Random) -> None:
    values["stations"].append(values["stations"].pop(0))


@pytest.mark.invariant
@pytest.mark.parametrize(
    "edit",
    [_distance, _dropped, _repeated, _renamed, _turned, _boards, _moved, _fence, _least, _other_way, _one_trim, _late],
)
def test_a_corrupted_sequence_is_refused(edit: Edit) -> None:
    made = rim_plan()
    rng = random.Random(5)
    for _ in range(40 if IS_NIGHT else 6):
        values = written(made)
        edit(values, rng)
        assert check_sequence(made.job, made, values) != ()


def shortest_by_hand(chains: list[str]) -> int:
    """The shortest word that has every chain as a subsequence, by trying all."""
    letters = sorted(set("".join(chains)))
    for length in range(max(map(len, chains)), 12):
        for word in product(letters, repeat=length):
            if all(_within(chain, word) for chain in chains):
                return length
    raise AssertionError


def _within(chain: str, word: tuple[str, ...]) -> bool:
    left = iter(word)
    return all(letter in left for letter in chain)


@pytest.mark.invariant
def test_settings_through_all_chains_are_as_few_as_by_trying_all() -> None:
    rng = random.Random(11)
    for _ in range(25):
        chains = ["".join(rng.choice("abc") for _ in range(rng.randint(1, 4))) for _ in range(3)]
        settings = [[(False, letter, 1) for letter in chain] for chain in chains]
        order, bound = _shortest(settings)
        contracted = ["".join(c for n, c in enumerate(chain) if n == 0 or chain[n - 1] != c) for chain in chains]
        assert len(order) == bound == shortest_by_hand(contracted)
        rule = _merged([tuple((False, letter, 1) for letter in chain) for chain in contracted])
        assert len(rule) >= bound
        assert all(_within(chain, tuple(letter for _, letter, _ in rule)) for chain in contracted)


def test_another_way_to_saw_thin_strips_is_refused() -> None:
    made = rim_plan()
    with pytest.raises(ValueError, match="free side"):
        job_sequence(made.job, made, thin_rip="sled")


@pytest.mark.invariant
def test_a_piece_on_a_stretch_marked_unusable_is_refused() -> None:
    """Nothing else is wrong with the cuts: the knot is found by where pieces lie, one fault for each that has it."""
    made = rim_plan()
    layout = made.layouts[0]
    first = layout.pieces[0]
    knot = (first.x + 40, first.x + 42)
    lie_on_it = [p for p in layout.pieces if p.x < knot[1] and knot[0] < p.x + p.length]
    spoiled = replace(
        made.job,
        stock=tuple(replace(s, unusable=(knot,)) if s.id == layout.stock else s for s in made.job.stock),
    )
    assert check_sequence(made.job, made, written(made)) == ()
    found = check_sequence(spoiled, made, written(made))
    assert {each.code for each in found} == {"sequence-unusable"}
    on_first = [each for each in found if each.place == "layout 0"]
    assert len(on_first) == len(lie_on_it)
    assert all(each.limits == f"off {knot[0]}..{knot[1]}" for each in on_first)
