"""Mix, pack, place: the ingredients bowl by bowl, how to pack the boards, and how to put them on the hives."""

import re
from collections.abc import Sequence
from fractions import Fraction
from math import ceil

from woodshop.design.batch import Batch, due_dates, hives_fitted, packed_boards
from woodshop.design.settings.conditions import density_text
from woodshop.documents.fullsize.templates import FOOT, Template, templates
from woodshop.documents.packet.cautions import caution_line
from woodshop.documents.packet.exploded_view import GROUND, other_ready, ready_hives, tier_text
from woodshop.documents.packet.packing import packing_blocks_of
from woodshop.documents.report.report import grouped, places_shortened
from woodshop.drawing.values.model import Align, Block, Column, Heading, Paragraph, Section, Steps, Table, page_of
from woodshop.engineering.sugar import Mix, recipe_water
from woodshop.hardware.items.packing_blocks import packing_steps
from woodshop.hardware.registry import BoardPart
from woodshop.hive.stacking.place import TierKind
from woodshop.plan.buy_list import batch_mix, bowls_of_board, recipe, vinegar_text, water_of
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.units.lengths import GRAMS_PER_POUND, LITRES_PER_US_CUP, Density, Mass, decimals, pound
from woodshop.units.wording import date_text


def mix_chapter(planned: PlannedBatch, whole: PlannedBatch | None = None) -> Section:
    """The chapter about mixing, packing the boards, and putting the items on the hives.

    If this batch is one customer's part of a larger one, `whole` is the larger batch, whose template numbers are used.
    """
    mix = batch_mix(planned.batch, planned.units)
    if mix is None:
        return Section("Placing on the hive", tuple(place_blocks(planned)))
    unit = planned.batch.unit
    rows = []
    for name, count, sugar in packed_boards(planned.batch, planned.units):
        one = recipe(sugar, water_of(planned.batch), bowls_of_board(planned.units, sugar))
        rows.append(
            (
                name,
                str(count),
                _sugar(sugar, unit),
                f"{one.bowls} of {_sugar(sugar / one.bowls, unit)}",
                _water(one.water_per_bowl.us_cups, unit),
                spoons(one.vinegar_tablespoons / one.bowls, unit),
            )
        )
    columns = (
        Column("for", weight=5),
        Column("fondant boards", Align.RIGHT, weight=2),
        Column("sugar, each", Align.RIGHT, weight=2),
        Column("bowls", weight=3),
        Column("water, each bowl", weight=3),
        Column("white vinegar, each bowl", weight=3),
    )
    return Section(
        "Mix, pack, place",
        (
            Table(columns, tuple(rows)),
            Paragraph(_all(mix, planned.units[0].line.setting.board.bowl, unit)),
            *(_trial(planned) if whole is None else ()),
            Heading("Mix and pack", 2, "mix-and-pack"),
            Paragraph(
                "The mix should barely hold together when squeezed. With twice the water, it slumps through the mesh.",
                lead="Damp, not wet.",
            ),
            caution_line("food"),
            Steps(_steps(planned, templates(whole or planned))),
            *packing_blocks_of(planned),
            *place_blocks(planned),
        ),
    )


def place_blocks(planned: PlannedBatch) -> list[Block]:
    """How to put the items on the hives, for each set of items. The result is empty if there are none."""
    dressed = ready_hives(planned)
    if not dressed:
        return []
    packed = bool(packed_boards(planned.batch, planned.units))
    days = due_dates(planned.batch.hives)
    by = f" no later than {date_text(days[0].day)}" if len(days) == 1 else ""
    steps = [f"Choose a mild, dry day{by}. Lay out all parts first, and keep each hive open only briefly."]
    if packed:
        steps.append("Take syrup feeders off first. Mite treatment must be finished, as its label says.")
    orders: dict[str, list[str]] = {}
    below: dict[str, list[str]] = {}
    for stack, places in dressed:
        names = [tier_text(tier) for tier in stack.tiers if tier.kind not in GROUND]
        if names:
            order = f"stack on the top box, in this order: {', '.join(names)}. Entrances face the front."
            if any(tier.kind is TierKind.ON_BARS and tier.is_own for tier in stack.tiers):
                order += f" Lay the strips {page_of('spacer-strips', 'as on page {}', 'where they lay')}."
            if not any(tier.kind is TierKind.INNER_COVER for tier in stack.tiers):
                order += " Store any inner cover dry until spring."
            orders.setdefault(order, []).extend(places)
        for kind, text in _BELOW:
            if any(tier.kind is kind and tier.is_own for tier in stack.tiers):
                below.setdefault(text, []).extend(places)
    every = list(dict.fromkeys(place for _, places in dressed for place in places))
    steps += [_at(places, every, text) for text, places in orders.items()]
    if packed:
        steps.append(
            "Carry each fondant board level on its backing board to a stand at the hive. Lift the rim level; a helper "
            "peels off the wax paper."
        )
        steps.append(
            "Work in pairs. One person takes the cover off, lays the strips and looks after the bees. The other "
            "lowers the fondant board straight down, mesh down. Never slide it over the top bars, because that moves "
            "the strips and crushes bees."
        )
    steps += [_at(places, every, text) for text, places in below.items()]
    for found_at, finding in grouped(planned.report.findings):
        if finding.code in _AT_THE_HIVE:
            hives = "; ".join(places_shortened(found_at, planned.batch))
            change = re.sub(r' \("[^"]+" under [^)]*\)', "", finding.change)  # a key is only for the report
            at = "" if hives == "every hive" else f" ({hives})"
            steps.append(f"{finding.value[:1].upper()}{finding.value[1:]}{at}. {change}")
    lines = [caution_line(topic) for topic in (("mite treatment", "lifting") if packed else ())]
    return [Heading("Place on the hive", 2), *lines, Steps(tuple(dict.fromkeys(steps))), *other_ready(planned)]


_AT_THE_HIVE = ("mice-at-the-entrance", "too-wide", "frames-not-measured")
_BELOW = (
    (TierKind.ENTRANCE, "fix the mouse guard in front of the entrance before the nights turn cold."),
    (TierKind.INSERT, "slide the insert in under the screened bottom board."),
)


def _at(places: list[str], every: list[str], text: str) -> str:
    """A step, which names the hives that it applies to (`places`) unless these are all hives (`every`)."""
    if set(places) == set(every):
        return f"{text[:1].upper()}{text[1:]}"
    names = dict.fromkeys(place.rpartition(", ")[0] or place for place in places)  # a name says enough
    return f"For {', '.join(names)}: {text}"


def quart_text(dry: Density, batch: Batch) -> str:
    """The weight of a level quart or liter of damp mix at this density of dry sugar, rounded up to half an ounce."""
    share = water_of(batch)
    damp = dry.kg_per_litre * (1 + (recipe_water() if share is None else share)) * 1000
    if batch.unit == "mm":
        return f"{decimals(Fraction(ceil(damp / 10), 100), 2)} kg"
    ounces = Fraction(ceil(damp * LITRES_PER_US_CUP * 4 / (GRAMS_PER_POUND / 16) * 2), 2)
    whole, rest = divmod(ounces, 16)
    return f"{whole} lb {_mixed(rest)} oz"


def _trial(planned: PlannedBatch) -> list[Block]:
    """The result of the user's own trial, or the steps for doing one."""
    batch = planned.batch
    if batch.conditions.trial is not None and batch.conditions.trial.found is not None:
        water = f"{decimals(batch.conditions.trial.water * 100, 1)} % of the sugar's weight"
        text = f"Your trial: {density_text(batch.conditions.trial.found)}, with water {water}. "
        text += f"The rims hold the sugar as loose as {batch.conditions.trial.found.least}."
        return [Paragraph(text, small=True)]
    density, source = _default(planned)
    metric = batch.unit == "mm"
    sugar = Mass(Fraction(1500)) if metric else pound(3)
    share = water_of(batch)
    wet = sugar * (recipe_water() if share is None else share)
    poured = f"{decimals(wet.grams, 0)} g" if metric else f"{decimals(wet.pounds * 16, 1)} oz"
    steps = (
        f"Mix {_sugar(sugar, batch.unit)} of sugar with {poured} of water by weight, as below.",
        f"Weigh a {'liter' if metric else 'quart'} measure empty. Fill it with the mix in layers, each pressed down as "
        "firmly as you will press it into the rim. Strike it off level and weigh it. Subtract the empty measure.",
        f"{_least_weights(planned)}If yours weighs less, you need taller rims. Do step 4 before you buy wood.",
        "For rims sized to your own mix, fill a straight-sided box in the same way, and plan again with its damp "
        f"weight and inside sizes, or send them to whoever made this packet. {_dry_text(planned)}",
    )
    text = f"The plan uses a density of {density} of dry sugar ({source})."
    return [Heading("Weigh your sugar", 2, "weigh-your-sugar"), Paragraph(text), Steps(steps)]


def _least_weights(planned: PlannedBatch) -> str:
    """The least weights of a measure of damp mix that fits under the head room, for which hives, as a sentence."""
    hives: dict[str, dict[str, None]] = {}
    for unit in planned.units:
        least = unit.line.setting.least_density if unit.line.item.board_part is BoardPart.RIM else None
        if least is not None:
            hives.setdefault(quart_text(least, planned.batch), {})[hives_fitted(unit.line.fits, planned.batch)] = None
    if not hives:
        return ""
    measure = "liter" if planned.batch.unit == "mm" else "quart"
    weights = ", ".join(f"{weight} for {', '.join(names)}" for weight, names in hives.items())
    return f"The damp mix of a {measure} must weigh at least {weights}. "


def _dry_text(planned: PlannedBatch) -> str:
    """The dry sugar in ten pounds, or five kilograms, of the damp mix, with the calculation."""
    water = water_of(planned.batch)
    share = recipe_water() if water is None else water
    damp = Mass(Fraction(5000)) if planned.batch.unit == "mm" else pound(10)
    dry = damp / (1 + share)
    said = [_sugar(each, planned.batch.unit) for each in (damp, damp - dry, dry)]
    percent = decimals(share * 100, 1)
    return (
        f"The plan subtracts the water, {percent}% of the dry sugar's weight: {said[0]} damp less {said[1]} of water "
        f"is {said[2]} of dry sugar."
    )


def _default(planned: PlannedBatch) -> tuple[str, str]:
    """The sugar density used for the boards, and its source."""
    listed = [d for d in planned.batch.defaults if (d.where, d.name) == ("board", "density")]
    if listed:
        return listed[0].value, "a default; source: report.pdf"
    return str(planned.units[0].line.setting.board.density), "your figure"


def _sugar(mass: Mass, unit: str) -> str:
    return f"{decimals(mass.grams / 1000, 2)} kg" if unit == "mm" else f"{decimals(mass.pounds, 2)} lb"


def _water(us_cups: Fraction, unit: str) -> str:
    return f"{decimals(us_cups * LITRES_PER_US_CUP * 1000, 0)} mL" if unit == "mm" else cups(us_cups)


def _all(mix: Mix, bowl: Mass, unit: str) -> str:
    share = decimals(mix.water_share * 100, 1)
    water = f"{decimals(mix.water.us_cups / 16, 2)} gal of water ({decimals(mix.water.us_cups, 1)} US cups, "
    if unit == "mm":
        water = f"{decimals(mix.water.litres, 1)} L of water ("
    bowls = f"{mix.bowls} bowl{'s' if mix.bowls != 1 else ''}"
    return (
        f"Total: {_sugar(mix.sugar, unit)} of sugar, {water}{share}% of the sugar by weight) and "
        f"{vinegar_text(mix.vinegar_tablespoons, unit)} of white vinegar, in {bowls}. Each fondant board gets "
        f"equal bowls of at most {_sugar(bowl, unit)} of sugar. Source of the recipe: report.pdf."
    )


def cups(value: Fraction) -> str:
    """Cups as a fraction in eighths if exact, otherwise with milliliters.

    >>> cups(Fraction(3, 2)), cups(Fraction(9, 8)), cups(Fraction(10, 9))
    ('1 1/2 cups', '1 1/8 cups', '1.11 cups (263 mL)')
    """
    if (value * 8).denominator == 1:
        return f"{_mixed(value)} cup{'s' if value > 1 else ''}"
    return f"{decimals(value, 2)} cups ({decimals(value * LITRES_PER_US_CUP * 1000, 0)} mL)"


def spoons(value: Fraction, unit: str = "in") -> str:
    """Tablespoons in halves if exact, otherwise teaspoons (three to a tablespoon); milliliters in a metric design.

    >>> spoons(Fraction(3, 2)), spoons(Fraction(3, 8)), spoons(Fraction(7, 18)), spoons(Fraction(1, 2), "mm")
    ('1 1/2 tablespoons', '1 1/8 teaspoons', '1.2 teaspoons', '7 mL')
    """
    if unit == "mm":
        return vinegar_text(value, unit)
    if (value * 2).denominator == 1:
        return f"{_mixed(value)} tablespoon{'s' if value > 1 else ''}"
    small = value * 3
    return f"{_mixed(small) if (small * 8).denominator == 1 else decimals(small, 1)} teaspoon{'s' if small > 1 else ''}"


def _mixed(value: Fraction) -> str:
    whole, rest = divmod(value, 1)
    return " ".join(filter(None, (str(whole) if whole else "", str(rest) if rest else ""))) or "0"


def _steps(planned: PlannedBatch, sheets: Sequence[Template]) -> tuple[str, ...]:
    days = fact("mix.drying_days").number
    bowls = max(bowls_of_board(planned.units, sugar) for _, _, sugar in packed_boards(planned.batch, planned.units))
    again = "" if bowls == 1 else f"Mix bowl {'2' if bowls == 2 else f'2 to {bowls}'} and pack it the same way. "
    stand, draw = packing_steps(planned.units[0].line.setting)
    feet = [f"T{n}" for n, each in enumerate(sheets, 1) if each.title.startswith(FOOT)]
    if feet:
        stand += f" ({' and '.join(feet)} of templates.pdf show{'' if len(feet) > 1 else 's'} where.)"
    return (
        "Lay each fondant board, mesh down, on a backing board that the sugar will not stick to: plywood with wax "
        "paper, or a coated panel.",
        stand,
        "Weigh the sugar for one bowl. Stir the vinegar into the water, and the water into the sugar, until no dry "
        "sugar is left.",
        "Pack the mix around the blocks and press it down with a flat board, layer by layer, firm into the corners and "
        "against the walls.",
        f"{again}Level the sugar to the depth in the packing table.",
        draw,
        f"Leave the fondant board flat for {days} days, until it is hard all the way through. Lift it level, with both "
        f"hands. The packing table gives its weight.",
    )
