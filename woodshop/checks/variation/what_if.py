"""What would change if a default were wrong: each tolerance doubled by itself, winter damper or drier."""

from dataclasses import dataclass, replace

from woodshop.checks.variation.gap_variation import QUICK, chains_for, outside_of
from woodshop.checks.variation.hive_variation import MovedHives
from woodshop.design.settings.tolerances import KEYS, Damp, Tolerances
from woodshop.hive.gaps.grading import BeeSpace
from woodshop.units.wording import LengthUnit

DAMPER = 3.0  # percent of moisture content, about what lies between a dry and a wet part of a country
_LEAST_DAMP = 4.0


@dataclass(frozen=True, slots=True)
class WhatIf:
    """An assumption as `table.key`, its value, what it is taken to be instead, and the share of hives outside then."""

    key: str
    value: str
    instead: str
    outside: float


def what_if(hives: MovedHives, tolerances: Tolerances, limits: BeeSpace, unit: LengthUnit) -> tuple[WhatIf, ...]:
    """Every assumption changed by itself, for these hives; those that do most to them first."""
    doubled = replace(tolerances, reach=tuple((work, reach * 2) for work, reach in tolerances.reach))
    chains = chains_for(hives.of, replace(doubled, moisture=_winter(tolerances, DAMPER).moisture))

    def outside(changed: Tolerances) -> float:
        return outside_of(hives.of, changed, limits, QUICK, chains)

    names = {work: key for key, work in KEYS.items()}
    found = [
        WhatIf(
            f"tolerance, {names[work]}",
            reach.text(unit),
            f"{(reach * 2).text(unit)} either way",
            outside(replace(tolerances, reach=tuple((w, r * 2 if w is work else r) for w, r in tolerances.reach))),
        )
        for work, reach in tolerances.reach
    ]
    for by in (DAMPER, -DAMPER):
        changed = _winter(tolerances, by)
        damp = changed.moisture.winter
        found.append(WhatIf("moisture, winter", tolerances.moisture.winter.words, damp.words, outside(changed)))
    return tuple(sorted(found, key=lambda each: -abs(each.outside - hives.moves.outside)))


def _winter(tolerances: Tolerances, by: float) -> Tolerances:
    percent = max(tolerances.moisture.winter.percent + by, _LEAST_DAMP)
    return replace(tolerances, moisture=replace(tolerances.moisture, winter=Damp(f"{percent:.1f} %", percent)))
