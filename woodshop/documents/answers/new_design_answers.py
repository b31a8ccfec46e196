"""The answers to a new design file's questions, from flags or from a person at a terminal."""

from typing import Any

from woodshop.design.tables import COUNT_MOST
from woodshop.documents.answers.new_design import DEFAULT_YARD, SHOP, Answers, Group, batch_name
from woodshop.errors import InputError, Problem

_MEASURED = ("gap", "width")


def questions(kind: str) -> tuple[tuple[str, str], ...]:
    """The three questions, each with the flag that answers it; in a shop an answer may hold several groups."""
    several = ", for each kind of hive, with ; between" if kind == SHOP else ""
    not_yet = "nothing: not measured yet" if kind == SHOP else "Enter: not measured yet"
    return (
        ("frames", f"How many frames has a box{several}"),
        ("count", f"How many hives are there{several}"),
        ("gap", f"How far below the box's edge lie the top bars, as 1/4{several} ({not_yet})"),
    )


def as_answers(kind: str, stem: str, given: dict[str, Any]) -> Answers:
    """The answers as values. `given` holds the flags: those of a group as one text or number for each group.

    One customer holds for every group; what was measured never does. Gaps are split at commas.
    Raises InputError with every problem.
    """
    found: list[Problem] = []
    frames = _numbers("frames", given["frames"], found)
    counts = _numbers("count", given["count"], found)
    for flag, numbers in (("frames", frames), ("count", counts)):
        if not numbers and not any(problem.where.endswith(flag) for problem in found):
            what = "how many frames a box has" if flag == "frames" else "how many hives there are"
            found.append(Problem(f"new, {flag}", "nothing", what, f"Give --{flag}, as in: --frames 10 --count 6."))
    groups = max(len(frames), len(counts))
    columns = {name: _each(name, given[name], groups, found) for name in ("gap", "width", "name", "customer")}
    if len(frames) not in (0, 1, groups) or len(counts) not in (0, 1, groups):
        wanted = "one of each for every group of hives, or one for all"
        found.append(Problem("new", f"{len(frames)} frames and {len(counts)} counts", wanted, "Give as many of both."))
    if len(counts) == 1 and len(frames) > 1:
        found.append(Problem("new, count", "one count for several groups", "a count for each", "Give --count again."))
    settings = _settings(given["set"], found)
    if found:
        raise InputError(*found)
    return Answers(
        groups=tuple(
            Group(
                frames[n if len(frames) > 1 else 0],
                counts[n if len(counts) > 1 else 0],
                tuple(text.strip() for text in columns["gap"][n].split(",") if text.strip()),
                width=columns["width"][n],
                name=columns["name"][n],
                customer=columns["customer"][n],
            )
            for n in range(groups)
        ),
        kind=kind,
        makes=tuple(given["make"]),
        batch=given["batch"] or batch_name(stem, kind),
        title=given["title"] or "",
        unit=given["unit"] or "in",
        yards=tuple(given["yard"]) or (DEFAULT_YARD,),
        on_by=given["on_by"] or "",
        pattern=given["pattern"] or "",
        settings=settings,
    )


def _numbers(flag: str, given: tuple[Any, ...], found: list[Problem]) -> list[int]:
    numbers = []
    for each in given:
        text = str(each).strip()
        if not text:
            continue
        if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= COUNT_MOST and len(text) <= 9):
            found.append(Problem(f"new, {flag}", repr(text), "a whole number of 1 or more", "Count them."))
        else:
            numbers.append(int(text))
    return numbers


def _settings(given: tuple[str, ...], found: list[Problem]) -> tuple[tuple[str, str, str], ...]:
    """(table, name, value) of each "mounting=flush rabbet" or "quilt box.shavings=3 in"; the board's need no table."""
    settings = []
    for text in given:
        key, sign, value = (part.strip() for part in text.partition("="))
        if not (key and sign and value):
            wanted = "a setting and its value, as mounting=flush rabbet"
            found.append(Problem("new, set", repr(text), wanted, "Write an equals sign between the two."))
            continue
        table, _, name = key.rpartition(".")
        settings.append((table or "board", name, value))
    return tuple(settings)


def _each(flag: str, given: tuple[str, ...], groups: int, found: list[Problem]) -> list[str]:
    """One for each group: as given, one customer for all, or nothing. What was measured is of one group alone."""
    texts = [each.strip() for each in given]
    if len(texts) == groups:
        return texts
    if len(texts) == 1 and flag not in ("name", *_MEASURED):
        return texts * groups
    if any(texts) or len(texts) > 1:
        said = f"{len(texts)} for {groups} group{'s' if groups != 1 else ''} of hives"
        do = f"Give --{flag} as often as --count"
        do += f', --{flag} "" for hives not measured yet.' if flag in _MEASURED else "."
        found.append(Problem(f"new, {flag}", said, "one for each group", do))
    return [""] * groups
