"""What a word means here: a setting, an item, a finding, a fact, a caution, or a word of the trade (the glossary)."""

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
    """A word of the trade: what it means, and other words for it or spellings of it."""

    name: str
    text: str
    also: tuple[str, ...] = ()


TERMS = (
    # the hive
    Term("bee space", "The width of passage that bees leave open. Narrower gaps they seal with propolis, wider ones "
         "they fill with comb. Published ranges differ; see woodshop explain bee_space.band."),
    Term("propolis", "Resin that bees gather and glue gaps shut with.", ("bee glue",)),
    Term("burr comb", "Comb built where none is wanted, in a space wider than bee space; it ties parts together.",
         ("brace comb", "bridge comb")),
    Term("frame", "The wooden frame that holds one comb and hangs in the box by its top bar.", ("frames",)),
    Term("top bar", "The upper bar of a frame. The board's strips and mesh lie over it.", ("top bars",)),
    Term("lug", "The end of a top bar that reaches past the frame and rests in the box.", ("lugs", "ear")),
    Term("end bar", "The upright bar at each end of a frame; its width spaces the frames."),
    Term("frame rest", "The rabbet along the inner upper edge of a box's ends, in which the lugs lie.",
         ("frame-rest rabbet",)),
    Term("gap over the top bars", "From a box's upper edge down to the top bars. With a straightedge over the box it "
         "is measured on three hives; half the fit of a board hangs on it.", ("gap", "top bee space")),
    Term("box", "One storey of a hive: four walls without top or bottom, in which frames hang.",
         ("hive body", "super", "brood box")),
    Term("deep", "The tallest common box, for brood.", ("deep box",)),
    Term("medium", "A box between deep and shallow.", ("medium box",)),
    Term("shallow", "The lowest common box, for honey.", ("shallow box",)),
    Term("nucleus box", "A small box, here of five frames, for a young or small colony.", ("nuc", "nucleus")),
    Term("Langstroth", "The hive pattern with movable frames in stacked boxes of one length, usual in America."),
    Term("British National", "The square British hive pattern with long lugs; its bee space is under the frames.",
         ("National",)),
    Term("bottom board", "What the lowest box stands on. A screened one has mesh for a floor.",
         ("screened bottom", "floor")),
    Term("landing board", "The ledge before the entrance on which bees alight."),
    Term("entrance", "The bees' way in; the lower one is between bottom board and box.", ("lower entrance",)),
    Term("upper entrance", "A notch in the rim's front end: a way out above the snow, and for damp air.", ("notch",)),
    Term("telescoping cover", "A cover with a skirt that reaches down over the box below.", ("outer cover",)),
    Term("flat cover", "A cover without a skirt, as wide as the hive.", ("migratory cover",)),
    Term("skirt", "The rim of a telescoping cover that hangs over the box."),
    Term("inner cover", "A thin board with a hole, between the frames and the outer cover."),
    Term("colony", "The bees of one hive."),
    Term("cluster", "The ball in which a colony keeps warm in winter; it moves up to its food.", ("winter cluster",)),
    Term("stores", "The food that a colony has laid in.", ("winter stores",)),
    Term("robbing", "Bees stealing from another hive through any gap they pass.", ("robbers", "robbing season")),
    Term("light hive", "A hive with less stores than it needs for winter.", ("light hives",)),
    # what we make
    Term("fondant board", "A shallow rim with a wire bottom, filled with damp sugar that sets hard and stands over the "
         "cluster as winter food and as a sponge for damp. The name is used whether the filling is cooked fondant or "
         "uncooked sugar.", ("board", "sugar board")),
    Term("candy board", "The same as a fondant board here; the name comes of boards filled with cooked sugar candy."),
    Term("fondant", "Sugar cooked or kneaded with a little water to a stiff paste."),
    Term("sugar cake", "A block of damp sugar pressed in a mould and dried, laid on the top bars.", ("cake", "block")),
    Term("rim", "The four walls of a fondant board, as wide and long as the box.", ("fondant rim", "shim")),
    Term("wire bottom", "The sheet of wire mesh under the sugar, through which bees reach it."),
    Term("mesh", "Welded galvanized wire in squares, named by the distance from wire to wire, centre to centre.",
         ("wire mesh", "hardware cloth", "pitch")),
    Term("landing", "How much of the mesh's edge lies on the wood that holds it."),
    Term("spacer strips", "Loose strips of wood across the top bars, that carry the mesh and keep bee space under it.",
         ("strips", "spacer strip")),
    Term("packing block", "A block stood on the mesh while damp sugar is packed, and drawn out after: it leaves the "
         "entrance channel or a corner vent open.", ("packing blocks",)),
    Term("entrance channel", "The way kept free of sugar from the upper entrance down to the mesh.", ("channel",)),
    Term("corner vent", "A well kept free of sugar at a rear corner, through which damp air rises.",
         ("corner vents", "vent")),
    Term("head room", "Free height between the sugar and what lies over it."),
    Term("quilt box", "A box of dry shavings on cloth or fine mesh, over the board: it takes up damp and keeps warmth.",
         ("quilt", "moisture quilt")),
    Term("vent hole", "A screened hole in a quilt box's wall, above the shavings.", ("vent holes",)),
    Term("vent spacers", "Four thin squares in a cover's corners, that leave a slit too low for a bee."),
    Term("mouse guard", "A strip with holes before the entrance, that passes bees and not mice."),
    Term("feeding shim", "A plain rim that makes room for a sugar cake on the top bars."),
    Term("bottom insert", "A sheet slid in under a screened bottom for the cold months."),
    Term("bee-space gauge", "A stepped stick that tells whether a gap is bee space.", ("gauge stick", "go / no-go")),
    Term("density", "Dry sugar in a litre of packed damp sugar: it decides how high a rim has to be.",
         ("packed density",)),
    Term("tare", "What the empty board weighs."),
    Term("syrup", "Sugar in water, named by weight: 1:1 is as much sugar as water, 2:1 twice as much.",
         ("1:1", "2:1", "thin syrup", "thick syrup")),
    # wood and saw
    Term("nominal size", "What a board is called, as 1x3. Dry and planed it is smaller: see woodshop explain lumber.",
         ("nominal",)),
    Term("dressed", "Planed to its final size.", ("dressed size",)),
    Term("grain", "The direction of the wood's fibres; a part's length runs along it."),
    Term("movement", "Wood swells and shrinks with the damp, below a moisture content that a species has of its own: "
         "western redcedar and northern white-cedar start lower than the rest. A coefficient holds only with that "
         "start; see woodshop sources wood.starts.", ("movement of wood", "shrinkage")),
    Term("rip", "A cut along the grain, to width; also the piece so cut.", ("ripping",)),
    Term("crosscut", "A cut across the grain, to length."),
    Term("kerf", "The wood that a cut turns to dust, as wide as the blade's teeth."),
    Term("rabbet", "A step cut along an edge.", ("rebate",)),
    Term("groove", "A channel cut along the grain, away from the edge.", ("saw groove",)),
    Term("butt joint", "Two pieces that meet square, held by screws or nails and glue.", ("butt",)),
    Term("box joint", "Square fingers of one piece between those of the other.", ("finger joint",)),
    Term("narrow rip", "A strip so narrow that the hand comes near the blade: it is cut with a push stick, and wood is "
         "left in the hand.", ("wood in hand",)),
    Term("thin-rip stop", "A stop on the saw's table, away from the fence and ahead of the blade's front teeth. It is "
         "set to the thickness of a strip; the fence is moved for each strip until the board touches it."),
    Term("offcut", "What is left of a board and long enough to keep; in the lumberyard file, each one on hand.",
         ("offcuts",)),
    Term("edge allowance", "What is cut off each edge of a board before it is used."),
    Term("end trim", "What is cut off each end of a new board to square it."),
    Term("blank", "The rectangle that has to come out of stock for one part."),
    Term("layout", "One board or sheet as it will be cut, and how many times it is cut so."),
    Term("stage", "A round of cuts in one direction: rips, then crosscuts, are two.", ("stages",)),
    Term("bound", "A cost that no plan can be below; it shows how good a plan is.", ("lower bound",)),
    Term("assurance", "How sure it is that no plan costs less: proved, solved, within a gap, or first fit."),
    Term("fluted sheet", "Plastic sheet of two skins with thin walls between; it bends along its flutes.",
         ("fluted plastic", "flutes")),
    Term("gauge", "The number that names the thickness of sheet steel: the higher, the thinner. Galvanised sheet is "
         "thicker than plain sheet of the same number, so buy by thickness; see woodshop sources metal.sheet."),
    Term("deburr", "To take the sharp edge off a cut in metal.", ("burr",)),
    Term("staple crown", "The bridge between a staple's two legs.", ("crown", "staple")),
    Term("pilot hole", "A hole drilled for a screw, so that the wood does not split."),
    # the papers
    Term("design file", "The file that says which hives there are and what to make; woodshop new writes one.",
         ("design",)),
    Term("lumberyard file", "The file that says what can be bought and for how much, and the offcuts on hand.",
         ("lumberyard",)),
    Term("shop file", "The file that says what an hour costs, how long work takes, and what is put on top; woodshop "
         "quote reads it.", ("shop",)),
    Term("unassembled kit", "Parts cut to size and not put together, with their screws and staples.", ("kit",)),
    Term("time standard", "Minutes that one operation takes, as a shop has timed it.", ("time standards",)),
    Term("set-up", "Work done once for many pieces: a setting of fence or stop, a cutter set to a size.", ("set-ups",)),
    Term("overhead", "What a shop costs whether or not it cuts: rent, power, blades, insurance."),
    Term("scrap allowance", "What is put on the cost for pieces that are spoiled.", ("scrap",)),
    Term("margin", "What is earned, as a part of the price: bought at 10.00 and sold at 12.50, 20 %."),
    Term("markup", "What is earned, as a part of the cost: bought at 10.00 and sold at 12.50, 25 %."),
    Term("measured file", "The file of an owner's boxes, three hives or more of each kind, as measured."),
    Term("packet", "What woodshop plan prints: what to buy, cut, build and check.", ("packet.pdf",)),
    Term("finding", "What a check says: an error (do not cut), a warning (think first) or a note.",
         ("error", "warning", "note", "findings")),
    Term("common practice", "A rule of thumb for which no source is cited.", ("common practice, no source",)),
)  # fmt: skip


KINDS = ("item", "setting", "key", "finding", "fact", "caution", "term")
GROUPS = {f"{kind}s": kind for kind in KINDS}


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a word means: `kind` is one of KINDS, `details` are named texts, `facts` the rows it is about."""

    kind: str
    name: str
    text: str
    details: dict[str, str]
    facts: tuple[Fact, ...] = ()


def word_section(word: str) -> Section:
    """Every meaning of the word.

    A setting is found by its name alone or after "board." or its item's name; case, "_" and "-" do not matter; a
    fact's key finds the rows below it too. Raises InputError, with near words, when there is no meaning.
    """
    wanted = _plain(word)
    found = [meaning for names, meaning in _meanings() if wanted in names]
    if wanted and all(meaning.kind == "fact" for meaning in found):
        named = {meaning.name for meaning in found}
        found += [_of_fact(row) for row in group(word.strip().lower()) if row.key not in named]
    if not found:
        raise InputError(Problem("explain", repr(word), "a word that is known here", _hint(wanted)))
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
    """Every group of words that have a meaning, with how many; or the words of one group of GROUPS."""
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
    return "See woodshop explain for all of them, and woodshop sources WORD for facts that mention a word."


def _meanings() -> Iterator[tuple[set[str], Meaning]]:
    """Every meaning, with the words that find it."""
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
    details["stands in"] = "[board], for all of the board" if table == "board" else f'[[make]] with item = "{table}"'
    name = f"{table}.{parameter.name}"
    names = {_plain(name), _plain(parameter.name), _plain(f"{table} {parameter.name}")}
    return names, Meaning("setting", name, f"{row['help'][:1].upper()}{row['help'][1:]}.", details)


def _of_fact(row: Fact) -> Meaning:
    details = {"value": row.value, "source": row.cite, "origin": row.origin}
    return Meaning("fact", row.key, row.what, details | dict(row.more))
