"""The meaning of a word: a setting, an item, a finding, a fact, a caution, or a term of the glossary."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches

from woodshop.design.keys import design_keys, table_names
from woodshop.design.tables import BoxKeys
from woodshop.documents.answers.listings import parameter_row, span
from woodshop.documents.report.report import FINDINGS
from woodshop.drawing.values.model import Align, Block, Column, Data, Heading, KeyValues, Paragraph, Section, Table
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import Parameter, fields_as_parameters
from woodshop.reference.cautions import cautions, defer, topics
from woodshop.reference.facts import Fact, all_facts, fact, group


@dataclass(frozen=True, slots=True)
class Term:
    """A term of the trade: its meaning, and its synonyms and spellings."""

    name: str
    text: str
    also: tuple[str, ...] = ()


TERMS = (
    # the hive
    Term("bee space", "The width of passage that bees leave open. Narrower gaps they seal with propolis, wider ones "
         "they fill with comb. Published ranges differ; see woodshop explain bee_space.band."),
    Term("propolis", "Resin that bees gather, and use as glue to close gaps.", ("bee glue",)),
    Term("burr comb", "Comb built in a space wider than bee space. It glues parts together.",
         ("brace comb", "bridge comb")),
    Term("frame", "The wooden frame that holds one comb. It hangs in the box by its top bar.", ("frames",)),
    Term("top bar", "The top piece of a frame. The strips and mesh of a fondant board lie over it.", ("top bars",)),
    Term("lug", "The end of a top bar, which rests in the box.", ("lugs", "ear")),
    Term("end bar", "The upright bar at each end of a frame; its width spaces the frames."),
    Term("frame rest", "The rabbet along the top inside edge of a box's ends, where the lugs rest.",
         ("frame-rest rabbet",)),
    Term("gap over the top bars", "The distance from a box's top edge down to the top bars. Measure it on three hives "
         "with a straightedge over the box; the fit of a fondant board depends on it.", ("gap", "top bee space")),
    Term("box", "One level of a hive: four walls without top or bottom, with frames hanging inside.",
         ("hive body", "super", "brood box")),
    Term("deep", "The tallest common box, for brood.", ("deep box",)),
    Term("medium", "A box between deep and shallow.", ("medium box",)),
    Term("shallow", "The shallowest common box, for honey.", ("shallow box",)),
    Term("nucleus box", "A small box, here with five frames, for a young or small colony.", ("nuc", "nucleus")),
    Term("Langstroth", "The usual American hive: movable frames in stacked boxes of one size."),
    Term("British National", "A square British hive with long lugs. Its bee space is below the frames.",
         ("National",)),
    Term("bottom board", "The floor under the lowest box. A screened one has mesh for a floor.",
         ("screened bottom", "floor")),
    Term("landing board", "The ledge in front of the entrance, where bees land."),
    Term("entrance", "The opening bees use. The lower entrance is between bottom board and box.", ("lower entrance",)),
    Term("upper entrance", "A notch in the front of the rim. It lets bees out above the snow, and damp "
         "air.", ("notch",)),
    Term("telescoping cover", "A cover with a skirt that fits down over the box below.", ("outer cover",)),
    Term("flat cover", "A cover without a skirt, as wide as the hive.", ("migratory cover",)),
    Term("skirt", "The sides of a telescoping cover that hang down over the box."),
    Term("inner cover", "A thin board with a hole, between the frames and the outer cover."),
    Term("colony", "The bees of one hive."),
    Term("cluster", "The ball of bees that keeps a colony warm in winter. It moves up toward its "
         "food.", ("winter cluster",)),
    Term("stores", "The food that a colony has stored.", ("winter stores",)),
    Term("robbing", "Bees stealing honey from another hive, through any gap they fit "
         "in.", ("robbers", "robbing season")),
    Term("light hive", "A hive with fewer stores than it needs for winter.", ("light hives",)),
    # what we make
    Term("fondant board", "A shallow rim with a wire bottom, filled with damp sugar that sets hard. It sits above the "
         "cluster as winter food, and absorbs damp. The name covers both cooked fondant and uncooked "
         "sugar.", ("board", "sugar board")),
    Term("candy board", "Another name for a fondant board. It comes from boards filled with cooked candy."),
    Term("fondant", "Sugar cooked or kneaded with a little water into a stiff paste."),
    Term("sugar cake", "A block of damp sugar, pressed in a mold and dried. It lies on the top "
         "bars.", ("cake", "block")),
    Term("rim", "The four walls of a fondant board, the same size as the box.", ("fondant rim", "shim")),
    Term("wire bottom", "The sheet of wire mesh under the sugar, through which bees reach it."),
    Term("mesh", "Welded galvanized wire in squares, named by the spacing of the wires, center to center.",
         ("wire mesh", "hardware cloth", "pitch")),
    Term("landing", "How much of the mesh's edge rests on wood."),
    Term("spacer strips", "Loose strips of wood across the top bars. They carry the mesh and keep bee space under it.",
         ("strips", "spacer strip")),
    Term("packing block", "A block that stands on the mesh while you pack damp sugar. Pulled out afterward, it "
         "leaves the entrance channel or a corner vent open.", ("packing blocks",)),
    Term("entrance channel", "The passage, free of sugar, from the upper entrance down to the mesh.", ("channel",)),
    Term("corner vent", "A shaft, free of sugar, at a rear corner. Damp air rises through it.",
         ("corner vents", "vent")),
    Term("head room", "Free height between the sugar and the part above it."),
    Term("quilt box", "A box of dry shavings on cloth or fine mesh, above the board. It absorbs damp and holds warmth.",
         ("quilt", "moisture quilt")),
    Term("vent hole", "A screened hole in the wall of a quilt box, above the shavings.", ("vent holes",)),
    Term("vent spacers", "Four thin squares in a cover's corners. They leave a slit too low for a bee."),
    Term("mouse guard", "A strip with holes in front of the entrance. Bees pass it; mice do not."),
    Term("feeding shim", "A plain rim that makes room for a sugar cake on the top bars."),
    Term("bottom insert", "A sheet slid in under a screened bottom board for winter."),
    Term("bee-space gauge", "A stepped stick for checking whether a gap is bee space.", ("gauge stick", "go / no-go")),
    Term("density", "Dry sugar in a liter of packed damp sugar. It decides how tall a rim must be.",
         ("packed density",)),
    Term("tare", "The weight of the empty board."),
    Term("syrup", "Sugar in water, named by weight: 1:1 is equal parts, 2:1 is two parts sugar to one of water.",
         ("1:1", "2:1", "thin syrup", "thick syrup")),
    # wood and saw
    Term("nominal size", "The name of a board, such as 1x3. The dressed board is smaller: see woodshop explain lumber.",
         ("nominal",)),
    Term("dressed", "Planed to its final size.", ("dressed size",)),
    Term("grain", "The direction of the wood's fibers. A part's length runs along it."),
    Term("movement", "Wood swells in damp air and shrinks in dry air, below a moisture content that depends on the "
         "species. Western redcedar and northern white-cedar start lower than the rest. A coefficient holds only "
         "below that start: see woodshop sources wood.starts.", ("movement of wood", "shrinkage")),
    Term("rip", "A cut along the grain, to width. Also the piece cut this way.", ("ripping",)),
    Term("crosscut", "A cut across the grain, to length."),
    Term("kerf", "The wood that a cut turns to dust, as wide as the blade's teeth."),
    Term("rabbet", "A step cut along an edge.", ("rebate",)),
    Term("groove", "A channel cut along the grain, away from the edge.", ("saw groove",)),
    Term("butt joint", "Two pieces that meet square, held by glue and screws or nails.", ("butt",)),
    Term("box joint", "Square fingers of one piece between those of the other.", ("finger joint",)),
    Term("narrow rip", "A strip so narrow that the hand comes near the blade. Use a push stick, and keep some board "
         "between blade and fence.", ("wood in hand",)),
    Term("thin-rip stop", "A stop on the saw table, on the far side of the blade from the fence and ahead of the "
         "front teeth. Set it to the thickness of a strip; for each strip, move the fence until the board touches it."),
    Term("offcut", "Wood left over from a board, long enough to keep. In the lumberyard file, any piece on hand.",
         ("offcuts",)),
    Term("edge allowance", "The wood cut off each edge of a board before it is used."),
    Term("end trim", "The wood cut off each end of a new board to square it."),
    Term("blank", "The rectangle of stock needed for one part."),
    Term("layout", "How one board or sheet will be cut, and how many are cut this way."),
    Term("stage", "A round of cuts in one direction. Rips, then crosscuts, are two stages.", ("stages",)),
    Term("bound", "The least cost that any plan can have. It shows how good a plan is.", ("lower bound",)),
    Term("assurance", "How certain it is that no plan costs less: proved, solved, within an amount, or first fit."),
    Term("fluted sheet", "Plastic sheet of two skins with thin walls between them. It bends along its flutes.",
         ("fluted plastic", "flutes")),
    Term("gauge", "The number for the thickness of sheet steel: the higher, the thinner. Galvanized sheet is thicker "
         "than plain sheet of the same number, so buy by thickness: see woodshop sources metal.sheet."),
    Term("deburr", "To remove the sharp edge of a cut in metal.", ("burr",)),
    Term("staple crown", "The part of a staple between its two legs.", ("crown", "staple")),
    Term("pilot hole", "A hole drilled for a screw, so that the wood does not split."),
    # the papers
    Term("design file", "The file that lists your hives and what to make. woodshop new writes one.",
         ("design",)),
    Term("lumberyard file", "The file that lists what the lumberyard sells, its prices, and your offcuts on hand.",
         ("lumberyard",)),
    Term("shop file", "The file that lists your hourly cost, times for each operation, overhead and margin. woodshop "
         "quote reads it.", ("shop",)),
    Term("unassembled kit", "Parts cut to size but not assembled, with their screws and staples.", ("kit",)),
    Term("time standard", "The minutes that one operation takes, as timed in the shop.", ("time standards",)),
    Term("set-up", "Work done once for many pieces, such as setting a fence, a stop or a cutter.", ("set-ups",)),
    Term("overhead", "The cost of a shop whether or not it cuts: rent, power, blades, insurance."),
    Term("scrap allowance", "An allowance on the cost for spoiled pieces.", ("scrap",)),
    Term("margin", "Profit as a share of the price: bought at 10.00 and sold at 12.50, 20 %."),
    Term("markup", "Profit as a share of the cost: bought at 10.00 and sold at 12.50, 25 %."),
    Term("measured file", "The file of measurements of an owner's boxes: three hives or more of each kind."),
    Term("packet", "The pages that woodshop plan prints: what to buy, cut, build and check.", ("packet.pdf",)),
    Term("finding", "A result of a check: an error (do not cut), a warning (think first) or a note.",
         ("error", "warning", "note", "findings")),
    Term("common practice", "A rule of thumb for which no source is cited.", ("common practice, no source",)),
)  # fmt: skip


KINDS = ("item", "setting", "key", "finding", "fact", "caution", "term")
GROUPS = {f"{kind}s": kind for kind in KINDS}


@dataclass(frozen=True, slots=True)
class Meaning:
    """A meaning of a word: `kind` is one of KINDS, `details` are named texts, `facts` the related rows."""

    kind: str
    name: str
    text: str
    details: dict[str, str]
    facts: tuple[Fact, ...] = ()


def word_section(word: str) -> Section:
    """Every meaning of the word.

    A setting is found by its name, alone or after "board." or its item's name; case, "_" and "-" do not matter; a
    fact's key also finds the rows below it. Raises InputError, with similar words, if there is no meaning.
    """
    wanted = _plain(word)
    found = [meaning for names, meaning in _meanings() if wanted in names]
    if wanted and all(meaning.kind == "fact" for meaning in found):
        named = {meaning.name for meaning in found}
        found += [_of_fact(row) for row in group(word.strip().lower()) if row.key not in named]
    if not found:
        raise InputError(Problem("explain", repr(word), "a known word", _hint(wanted)))
    columns = (
        Column("fact", key="key"),
        Column("value", key="value"),
        Column("what it is", key="what"),
        Column("source", key="cite"),
    )
    blocks: list[Block] = []
    meanings: list[Data] = []
    for each in found:
        rows = Table(columns, tuple((row.key, row.value, row.what, row.cite) for row in each.facts))
        blocks += [Heading(f"{each.name} ({each.kind})", 3), Paragraph(each.text)]
        blocks += [KeyValues(tuple(each.details.items()))] if each.details else []
        blocks += [rows] if each.facts else []
        own = {"kind": each.kind, "name": each.name, "text": each.text}
        meanings.append({**own, "details": each.details, "facts": rows.records})
    return Section("", tuple(blocks), {"word": word, "meanings": meanings})


def words_section(group: str | None = None) -> Section:
    """Every group of words with a meaning, with their number; or the words of one group of GROUPS."""
    listed: dict[str, list[str]] = {kind: [] for kind in KINDS}
    for _, meaning in _meanings():
        listed[meaning.kind].append(meaning.name)
    if group is not None:
        names = listed[GROUPS[group]]
        by_table: dict[str, list[str]] = {}
        for name in names:
            by_table.setdefault(name.partition(".")[0] if "." in name else "", []).append(name)
        lines = tuple((table, ", ".join(each)) for table, each in by_table.items())
        block = KeyValues(lines) if len(lines) > 1 else Paragraph(", ".join(names))
        return Section("", (block,), {GROUPS[group]: names})
    columns = (Column("group"), Column("words", Align.RIGHT), Column("for instance"))
    rows = tuple((group, str(len(listed[kind])), ", ".join(listed[kind][:3])) for group, kind in GROUPS.items())
    how = "List a group: woodshop explain GROUP. Ask about a word: woodshop explain WORD."
    return Section("", (Table(columns, rows), Paragraph(how)), listed)


def _plain(word: str) -> str:
    return re.sub(r"[\s_-]+", " ", word.strip().lower())


def _hint(wanted: str) -> str:
    known: dict[str, str] = {}
    for names, meaning in _meanings():
        known |= dict.fromkeys(names, meaning.name)
    close = list(dict.fromkeys(known[name] for name in get_close_matches(wanted, known, n=3)))
    if close:
        return f"Did you mean {' or '.join(map(repr, close))}?"
    return "woodshop explain lists all words; woodshop sources WORD lists facts that mention a word."


def _meanings() -> Iterator[tuple[set[str], Meaning]]:
    """Every meaning, with the words for it."""
    for item in items():
        words = {"needed for": "each hive" if item.is_per_hive else f"each of {item.per}"}
        text = f"{item.title}. {item.summary}"
        yield {_plain(item.name), _plain(item.title)}, Meaning("item", item.name, text, words)
    for parameter in fields_as_parameters(BoardSettings):
        yield _setting("board", parameter)
    for item in items():
        for parameter in item.parameters:
            yield _setting(item.name, parameter)
    for key in design_keys():
        details = {"stands in": table_names()[key.table], "value": key.kind}
        details |= {"example": f"{key.name} = {key.example}"} if key.example else {}
        text = " ".join(filter(None, (key.meaning, key.otherwise)))
        is_of_hives = key.table == "box" and key.name in BoxKeys.model_fields  # said once, of [[hives]]
        names = {_plain(key.address)} if is_of_hives else {_plain(key.address), _plain(key.name)}
        yield names, Meaning("key", key.address, text, details, tuple(fact(row) for row in key.rows))
    for code, (text, keys) in FINDINGS.items():
        rows = tuple(row for prefix in keys for row in group(prefix))
        yield {_plain(code)}, Meaning("finding", code, text, {}, rows)
    for row in all_facts():
        yield {_plain(row.key)}, _of_fact(row)
    for topic in topics():
        rows_of = cautions(topic)
        text = " ".join(row.text for row in rows_of)
        cites = "; ".join(dict.fromkeys(row.cite for row in rows_of))
        yield {_plain(topic)}, Meaning("caution", topic, text, {"before it": defer(topic), "after": cites})
    for term in TERMS:
        yield (
            {_plain(name) for name in (term.name, *term.also)},
            Meaning("term", term.name, term.text, {"also": ", ".join(term.also)} if term.also else {}),
        )


def _setting(table: str, parameter: Parameter) -> tuple[set[str], Meaning]:
    row = parameter_row(parameter)
    details = {"default": row["default"], "source": row["source"]}
    details |= {"allowed": span(row)} if span(row) else {}
    details |= {"matters where": row["only"]} if row["only"] else {}
    details["stands in"] = (
        "[board], for all parts of the board" if table == "board" else f'[[make]] with item = "{table}"'
    )
    name = f"{table}.{parameter.name}"
    names = {_plain(name), _plain(parameter.name), _plain(f"{table} {parameter.name}")}
    return names, Meaning("setting", name, f"{row['help'][:1].upper()}{row['help'][1:]}.", details)


def _of_fact(row: Fact) -> Meaning:
    details = {"value": row.value, "source": row.cite, "origin": row.origin}
    return Meaning("fact", row.key, row.what, details | dict(row.more))
