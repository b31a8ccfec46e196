"""What each file of a result is for, in words. Imports nothing heavy, for the page shows it at once."""

from collections.abc import Mapping

RESULT_WORDS: Mapping[str, str] = {
    "packet.pdf": "Shopping, sawing, parts and assembly: print this and take it to the shop.",
    "report.pdf": "Findings, bee space, variation, and the proof of the cost.",
    "saw.html": "The cuts one after the other, for a phone or tablet at the saw, without a connection.",
    "templates.pdf": "Templates at full size. Print at 100 %, and measure the ruler on each page.",
    "story-stick.pdf": "Lengths at full size, to mark a stick that sets your stops.",
    "labels.pdf": "Labels for the finished hardware.",
    "workbook.xlsx": "Parts, cuts, shopping and costs, for a spreadsheet program.",
    "buy.csv": "The shopping list as plain rows.",
    "cuts.csv": "Every piece with its board, as plain rows.",
    "parts.csv": "Every part with its size, as plain rows.",
    "days.pdf": "Who does what on each day, to hang up.",
    "gantt.svg": "The whole schedule as one picture.",
    "schedule.ics": "The days of work, for a calendar program.",
    "schedule.json": "The schedule for other programs; woodshop checks it with: woodshop verify.",
    "plan.json": "The whole plan for other programs; woodshop needs it to plan the rest after a bad board.",
}
"""What each file of a result is for, in the order of use. Drawings and bee-space maps have names of their own."""


def result_words(name: str) -> str:
    """What a file of a result is for; `name` is its path in the folder."""
    if name in RESULT_WORDS:
        return RESULT_WORDS[name]
    if name.startswith("bee-space"):
        return "The bee space of a hive, drawn."
    return "A drawing of one part, or a file for a machine." if "/" in name else ""
