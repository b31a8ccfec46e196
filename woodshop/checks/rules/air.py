"""The air path from the entrance to the slit under the cover: where it ends before it is out. Areas, and no more."""

from woodshop.checks.measured.hives import HiveGroup, MeasuredHive
from woodshop.checks.rules.remedies import CheckContext, higher_rim
from woodshop.findings import Finding, Severity
from woodshop.reference.cautions import cautions

OUT = "out of the hive"
_TIGHT = (
    "Ask what does in your place. For a tight top leave out vent spacers, and bore no holes in a quilt box: "
    'holes = "none". Temperatures under [climate] show both ways in figures.'
)
_OPEN = (
    'Ask what does in your place. "vent spacers" or a quilt box open the top. '
    "Temperatures under [climate] show both ways in figures."
)


def check_air(place: str, hive: MeasuredHive, whole: CheckContext) -> list[Finding]:
    """Dead ends on the way up: a channel that leads nowhere, sugar packed flush under a closed floor."""
    if hive.air is None:
        return []
    found = []
    ends = [end for end in hive.air.dead_ends if end.step != OUT]
    if ends:
        words = "; ".join(f"{end.step}, between {end.between[0]} and {end.between[1]}" for end in ends)
        over = any(end.between[0] == "packed sugar" for end in ends)
        cure = higher_rim(whole) if over else ()
        change = "Open the way: "
        change += f"make the rim higher, height = {cure[0][1]}." if cure else "look what lies on the mesh there."
        found.append(
            Finding(
                "air-dead-end",
                Severity.WARNING,
                place,
                f"the air path ends: {words}",
                "a way up from the frames, through channel and corner vents, over the sugar, to what is above",
                "geometry",
                change,
                cure,
            )
        )
    return found


def check_top_ventilation(groups: tuple[HiveGroup, ...]) -> list[Finding]:
    """What the top of the hives does with the air, beside what is published both ways. Nobody has it unasked."""
    gives: list[str] = []
    holds: list[str] = []
    for group in groups:
        for place, measured in group.alternatives:
            air = measured[0][1].air
            if air is None or not any(step.route for step in air.steps):
                continue
            (holds if any(end.step == OUT for end in air.dead_ends) else gives).append(place)
    if not gives and not holds:
        return []
    (row,) = (row for row in cautions("wintering") if "top ventilation" in row.text)
    return [
        Finding(
            "top-ventilation-is-disputed",
            Severity.NOTE,
            "; ".join(places),
            said,
            row.text.rstrip("."),
            row.cite,
            change,
        )
        for places, said, change in (
            (gives, "air gets out at the top", _TIGHT),
            (holds, "air does not get out under the cover", _OPEN),
        )
        if places
    ]
