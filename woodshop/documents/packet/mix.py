"""The page at the mixing table: how much of what, bowl by bowl, and how the boards are packed."""

from fractions import Fraction

from woodshop.design.batch import packed_boards
from woodshop.design.settings.conditions import density_words
from woodshop.documents.packet.cautions import caution_line
from woodshop.documents.packet.packing import is_full_set, packing_blocks_of
from woodshop.drawing.values.model import Align, Block, Caution, Column, KeepTogether, Paragraph, Section, Steps, Table
from woodshop.engineering.sugar import Mix, recipe_water
from woodshop.hardware.items.packing_blocks import packing_words
from woodshop.plan.buy_list import batch_mix, bowls_of_board, recipe, water_of
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.units.lengths import LITRES_PER_US_CUP, Mass, decimals, pound


def mix_chapter(planned: PlannedBatch) -> Section:
    """The mix of the batch; nothing when no board is packed."""
    mix = batch_mix(planned.batch, planned.units)
    if mix is None:
        return Section("", ())
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
                spoons(one.vinegar_tablespoons / one.bowls),
            )
        )
    columns = (
        Column("boards for", weight=5),
        Column("boards", Align.RIGHT, weight=2),
        Column("sugar, each", Align.RIGHT, weight=2),
        Column("bowls", weight=3),
        Column("water to a bowl", weight=3),
        Column("white vinegar to a bowl", weight=3),
    )
    blocks = (
        Table(columns, tuple(rows)),
        Paragraph(_all(mix, planned.units[0].line.setting.board.bowl, unit)),
        *_trial(planned),
        Caution(
            "Twice the water slumps through the mesh: the mix must only just hold together in the fist. "
            "Measure the water; do not pour it by eye.",
            "Damp, not wet",
        ),
        caution_line("food"),
        Steps(_steps(planned)),
        KeepTogether((*packing_blocks_of(planned), caution_line("lifting"))),
    )
    return Section("Mix, pack, place", blocks)


def _trial(planned: PlannedBatch) -> list[Block]:
    """What the user's own trial says; without one, how to make it."""
    trial = planned.batch.trial
    if trial is None or trial.found is None:
        density, source = _taken(planned)
        text = (
            f"Depth is calculated at {density} of dry sugar ({source}). To use your own: pack a box of known size with "
            "the damp mix, strike it off level, and weigh it without the box. Enter that damp weight and the inside of "
            f"the box under [trial] in the design. {_dry_words(planned)}"
        )
    else:
        water = f"{decimals(trial.water * 100, 1)} % of the sugar's weight"
        text = f"Your trial: {density_words(trial.found)}, with water {water}. "
        text += f"The rims hold the sugar as loose as {trial.found.least}."
    return [Paragraph(text, small=True)]


def _dry_words(planned: PlannedBatch) -> str:
    """What becomes of a damp weight, in figures: the dry sugar in ten pounds, or five kilograms, of the mix."""
    water = water_of(planned.batch)
    share = recipe_water() if water is None else water
    damp = Mass(Fraction(5000)) if planned.batch.unit == "mm" else pound(10)
    dry = damp / (1 + share)
    said = [_sugar(each, planned.batch.unit) for each in (damp, damp - dry, dry)]
    percent = decimals(share * 100, 1)
    return (
        f"We subtract the water, {percent} % of the dry sugar's weight: {said[0]} damp less {said[1]} of water is "
        f"{said[2]} of dry sugar."
    )


def _taken(planned: PlannedBatch) -> tuple[str, str]:
    """The density of the boards, and whose word it is."""
    listed = [d for d in planned.batch.defaults if (d.where, d.name) == ("board", "density")]
    if listed:
        return listed[0].value, listed[0].source
    return str(planned.units[0].line.setting.board.density), "as you gave it"


def _sugar(mass: Mass, unit: str) -> str:
    return f"{decimals(mass.grams / 1000, 2)} kg" if unit == "mm" else f"{decimals(mass.pounds, 2)} lb"


def _water(us_cups: Fraction, unit: str) -> str:
    return f"{decimals(us_cups * LITRES_PER_US_CUP * 1000, 0)} mL" if unit == "mm" else cups(us_cups)


def _all(mix: Mix, bowl: Mass, unit: str) -> str:
    share = decimals(mix.water_share * 100, 1)
    water = f"{decimals(mix.water.us_cups / 16, 2)} gal of water ({decimals(mix.water.us_cups, 1)} US cups"
    if unit == "mm":
        water = f"{decimals(mix.water.litres, 1)} L of water ({decimals(mix.water.us_cups, 1)} US cups"
    bowls = f"{mix.bowls} bowl{'s' if mix.bowls != 1 else ''}"
    return (
        f"Total: {_sugar(mix.sugar, unit)} of sugar, {water}, {share} % of "
        f"the sugar by weight) and {decimals(mix.vinegar_tablespoons, 1)} tablespoons of white vinegar, in {bowls}: "
        f"for each board equal bowls of at most {_sugar(bowl, unit)} of sugar. "
        f"Recipe: {fact('mix.water').cite}; vinegar is common practice there."
    )


def cups(value: Fraction) -> str:
    """Cups to an eighth where it is one, else with the millilitres beside.

    >>> cups(Fraction(3, 2)), cups(Fraction(9, 8)), cups(Fraction(10, 9))
    ('1 1/2 cups', '1 1/8 cups', '1.11 cups (263 mL)')
    """
    if (value * 8).denominator == 1:
        return f"{_mixed(value)} cup{'s' if value > 1 else ''}"
    return f"{decimals(value, 2)} cups ({decimals(value * LITRES_PER_US_CUP * 1000, 0)} mL)"


def spoons(value: Fraction) -> str:
    """Tablespoons to a half where it is one, else teaspoons, three to a tablespoon.

    >>> spoons(Fraction(3, 2)), spoons(Fraction(3, 8)), spoons(Fraction(7, 18))
    ('1 1/2 tablespoons', '1 1/8 teaspoons', '1.2 teaspoons')
    """
    if (value * 2).denominator == 1:
        return f"{_mixed(value)} tablespoon{'s' if value > 1 else ''}"
    small = value * 3
    return f"{_mixed(small) if (small * 8).denominator == 1 else decimals(small, 1)} teaspoon{'s' if small > 1 else ''}"


def _mixed(value: Fraction) -> str:
    whole, rest = divmod(value, 1)
    return " ".join(filter(None, (str(whole) if whole else "", str(rest) if rest else ""))) or "0"


def _steps(planned: PlannedBatch) -> tuple[str, ...]:
    days = fact("mix.drying_days").number
    bowls = max(bowls_of_board(planned.units, sugar) for _, _, sugar in packed_boards(planned.batch, planned.units))
    again = () if bowls == 1 else (f"Repeat with bowl {'2' if bowls == 2 else f'2 to {bowls}'} of the same board.",)
    return (
        "Lay each board, mesh down, on a flat backing that lets go: plywood with wax paper, or a coated panel.",
        "Weigh the sugar for one bowl. Stir vinegar into the water, and the water into the sugar, until no dry sugar "
        "is left.",
        packing_words(planned.units[0].line.setting, is_full_set(planned)),
        "Press the sugar down with a flat board, layer by layer, firm into the corners and against the walls.",
        *again,
        "Level the sugar to the depth in the packing table. The channel and both corner vents must stay open down to "
        "the mesh.",
        f"Leave the board flat until it is hard right through, a day or two ({days} days in damp air), before it is "
        "lifted. What it weighs then "
        "stands in that table: lift it level, with both hands.",
    )
