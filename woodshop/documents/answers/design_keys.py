"""What every key of a design file means, beside the settings that the items bring."""

from dataclasses import dataclass

from woodshop.reference.boxes import FRAMES
from woodshop.reference.facts import fact

NATIONAL = "British National"
TABLES = {
    "": "the file itself",
    "hives": "[[hives]]",
    "shed": "[[shed]]",
    "saw": "[saw]",
    "tools": "[tools]",
    "labels": "[labels]",
    "worth": "[worth]",
    "buying": "[buying]",
    "check": "[check]",
    "trial": "[trial]",
    "climate": "[climate]",
    "tolerance": "[tolerance]",
    "moisture": "[moisture]",
    "make": "[[make]]",
    "box": "[[box]]",
    "set": "[[set]]",
    "order": "[[order]], or the headings of a spreadsheet",
}


@dataclass(frozen=True, slots=True)
class DesignKey:
    """A key of a design file: its table ("" for the file itself), what it means, what holds when it is left out.

    `example` is a value as it stands in the file. `fact` and `national` name the rows of the value taken when it
    is left out, for Langstroth boxes and for British National ones.
    """

    table: str
    name: str
    text: str
    otherwise: str = ""
    example: str = ""
    fact: str = ""
    national: str = ""

    @property
    def rows(self) -> tuple[str, ...]:
        """The keys of all rows that a value may be taken from."""
        langstroth = [self.fact.format(frames=n) for n in FRAMES] if "{frames}" in self.fact else [self.fact]
        return tuple(dict.fromkeys(filter(None, (*langstroth, self.national))))

    def default(self, pattern: str = "", frames: int = 0) -> tuple[str, str]:
        """The value taken when the key is left out, and its source; both "" when no row gives one."""
        key = self.national if pattern == NATIONAL else self.fact
        if not key or ("{frames}" in key and frames not in FRAMES):
            return "", ""
        row = fact(key.format(frames=frames))
        return row.value, row.cite


KEYS = (
    DesignKey("", "format", "What kind of file this is; always the first line.", "Required.", '"woodshop-design/1"'),
    DesignKey("", "batch", "Name of this batch, and of its folder: letters, digits, dot, dash and underscore.",
              "Required.", '"first-winter"'),
    DesignKey("", "title", "What stands at the head of every page.", "Left out: the batch's name.",
              '"Winter boards"'),
    DesignKey("", "unit", "What a length without a unit is in: in or mm. Any length may name its own.", "Required.",
              '"in"'),
    DesignKey("", "yard", "The yard file: what can be bought and for how much, the rack. Several in a list.",
              "Required.", '"creekside-yard.toml"'),
    DesignKey("", "shop", "A shop file whose [saw] and [tools] hold for this design too. A key that is set here takes "
              "the place of the shop file's.", "Left out: none, the tools stand here.", '"..."'),
    DesignKey("", "on_by", "The day by which it is all on the hives, year first, without quotes.",
              "Left out: no day.", "2026-11-26"),
    DesignKey("", "quoted_on", "The day of the quotes, year first, bare; how long they are good counts from it.",
              "Left out: the day on which the yard's prices were seen.", "2026-09-20"),
    DesignKey("", "paper", "Paper of the packet: letter or a4.", 'Left out: "letter".', '"letter"'),
    DesignKey("", "wood", "Thickness of the wood for rims and quilt boxes, as it is, not as it is called.",
              fact="box.wall", national="box.wall"),
    DesignKey("", "surplus", "Where a board holds a piece more than is needed: drop leaves the wood uncut, spare cuts "
              "the piece and marks it spare.", 'Left out: "drop".', '"drop"'),
    DesignKey("", "both_units", "In part drawings and the part table every size in the other unit too, beside it in "
              "brackets: inches and millimetres.", "Left out: false.", "false"),
    DesignKey("", "orders", "A spreadsheet of orders beside this file, .xlsx or .csv; several in a list.",
              "Left out: none.", '"..."'),
    DesignKey("", "other_columns", "Headings of that spreadsheet which are not read.",
              "Left out: none, and a heading that is not known is refused.", '["..."]'),
    DesignKey("", "hives", "A group of like hives; as many groups as you have kinds.", "Required without orders."),
    DesignKey("", "order", "One line of an order, as in a spreadsheet of orders."),
    DesignKey("", "box", "A box that orders name: its name, and the keys of [[hives]] that tell of boxes and frames."),
    DesignKey("", "set", "Items that orders name by one word."),
    DesignKey("", "shed", "What hangs in the shed already, and is not made again."),
    DesignKey("", "labels", "Which labels are printed, and the grid of the sheet they are printed on."),
    DesignKey("", "saw", "What your saw takes off and what you cut with it: your own, whoever sells the wood."),
    DesignKey("", "tools", "Your saws, their kerfs, and what each can cross. Each cut in the cut lists names its saw."),
    DesignKey("", "check", "Which published bee space the checks hold the gaps against."),
    DesignKey("", "trial", "Damp sugar that you packed into a box of known size and weighed: your density and mix."),
    DesignKey("", "climate", "How cold it is outside, for a page on the top of the hive: where water comes out, and "
              "what shavings keep warm. Leave it out: then there is no such page."),
    DesignKey("", "tolerance", "How far sizes stray, each either way; 997 in 1,000 stray less. Leave it out: then "
              "usual values are taken, and listed."),
    DesignKey("", "moisture", "How damp the wood is, in the shop and through the year. Leave it out: then usual values "
              "are taken, and listed."),
    DesignKey("", "worth", "What work saved at the saw and offcuts kept are worth to you, in the yard's currency. With "
              "it boards are planned for the least sum of money and work, which may cost more money."),
    DesignKey("", "buying", "How yards are chosen, and what may be bought ready-made."),
    DesignKey("", "board", "Settings of the fondant board, shared by its rim, floor, strips and blocks."),
    DesignKey("", "make", "What to make; where there are orders, how, and for hives of no order.",
              "Required without orders."),
    DesignKey("hives", "name", "What you call these hives. With several groups each needs one.",
              "Left out: no name.", '"home yard"'),
    DesignKey("hives", "customer", "Whose hives they are, where you build for others.", "Left out: your own.",
              '"my own"'),
    DesignKey("hives", "pattern", "Pattern of the boxes: Langstroth or British National.",
              'Left out: "Langstroth".', '"Langstroth"'),
    DesignKey("hives", "frames", "Frames in a box.", "Required.", "10"),
    DesignKey("hives", "count", "How many hives there are of this kind.", "Required.", "6"),
    DesignKey("hives", "gap", "Lay a straightedge across a box and measure down to the top bars, on three hives.",
              "Left out: the table's value is taken, and the check says so.", '["...", "...", "..."]',
              "box.gap_over_top_bars", "box.national_gap"),
    DesignKey("hives", "width", "Outside of a box, across the front. Makers differ by 1/4 in: measure.",
              fact="box.width_{frames}", national="box.national_side"),
    DesignKey("hives", "length", "Outside of a box, front to back.", fact="box.length",
              national="box.national_side"),
    DesignKey("hives", "height", "Height of the box under the board: deep, medium, shallow, or a length.",
              'Left out: "deep".', '"deep"', "box.height_deep", "box.national_brood_height"),
    DesignKey("hives", "wall", "Thickness of the box's walls.", fact="box.wall", national="box.wall"),
    DesignKey("hives", "rim_width", "Outside of rims, quilt boxes and cake rims for these hives, across the front; so "
              "that one size serves boxes that differ. See: woodshop sizes.", "Left out: the box's."),
    DesignKey("hives", "rim_length", "Outside of rims, quilt boxes and cake rims for these hives, front to back.",
              "Left out: the box's."),
    DesignKey("hives", "boxes", "Heights of all boxes of a hive, from the ground up; the board stands on the last.",
              "Left out: two of the one height, or one of a nucleus.", '["deep", "deep"]'),
    DesignKey("hives", "frame_depth", "A frame from the top of its top bar down to its lower edge, measured; or a "
              "list, one for each box from the ground up. One depth is that of all boxes as high as the top one.",
              "Left out: the deepest of the table that hangs in the box.", '"9 1/8"'),
    DesignKey("hives", "bee_space", "Where the bee space of these boxes is: top, with the top bars below the edge of "
              "the box, or bottom, with the bars level with it.", "Left out: as the pattern has it."),
    DesignKey("hives", "inner_cover", "Thickness of the inner cover that lies under the cover in winter.",
              "Left out: none is used.", '"3/4"'),
    DesignKey("hives", "cover", "Which cover these hives have: telescoping or flat.",
              'Left out: "telescoping".', '"telescoping"'),
    DesignKey("hives", "cover_skirt", "Depth of the cover's skirt; quilt box and vent spacers go by it.",
              fact="cover.skirt_depth", national="cover.skirt_depth"),
    DesignKey("hives", "cover_clearance", "How much wider than the box the cover is inside, at each side.",
              fact="cover.clearance", national="cover.clearance"),
    DesignKey("hives", "measured", "A measured file, with three hives of this kind or more, in place of sizes here.",
              "Left out: none."),
    DesignKey("hives", "box", "Which box of the measured file it is.", "Left out: the one named as these hives are."),
    DesignKey("hives", "sugar", "Dry sugar for one board of these hives.",
              "Left out: a 10-frame board gets what stands under [board], another its share."),
    DesignKey("hives", "form", "How far the boards are made: packed with sugar; with mesh, put together, not packed; "
              "empty, the rim alone, without mesh floor and strips; flat kit, cut and not put together, its screws and "
              "staples in a bag. Only what is packed is filled here: sugar in boards, shavings in quilts.",
              'Left out: "packed"; "with mesh" for mesh floors without a rim made or in the shed.', '"packed"'),
    DesignKey("hives", "order", "The number of the order that these hives are for; quotes, labels and lists print it.",
              "Left out: none.", '"A-17"'),
    DesignKey("hives", "due", "The day promised for these hives, year first, without quotes.", "Left out: on_by.",
              "2026-11-15"),
    DesignKey("hives", "priority", "What comes first where not all can be made at once: 1 first, 9 last.",
              "Left out: 5.", "5"),
    DesignKey("shed", "item", "Which item is there.", "Required."),
    DesignKey("shed", "hives", "For which hives it is, by their name.", "Required."),
    DesignKey("shed", "have", "How many are there.", "Required.", "1"),
    DesignKey("shed", "repair", "How many of those need a new one.", "Left out: 0.", "0"),
    DesignKey("labels", "hives", "A label for each hive.", "Left out: true.", "true"),
    DesignKey("labels", "units", "A label for each thing made.", "Left out: true.", "true"),
    DesignKey("labels", "pieces", "A label for each piece that is cut.", "Left out: false.", "false"),
    DesignKey("labels", "frame", "An outline round each label, to cut along on plain paper.", "Left out: true.",
              "true"),
    DesignKey("labels", "width", "Width of one label; measure the sheet you have.",
              "Left out: 2 1/2 in, or 62 mm on a4 paper.", '"2 1/2"'),
    DesignKey("labels", "height", "Height of one label.", "Left out: 1 1/4 in, or 33 mm on a4 paper.", '"1 1/4"'),
    DesignKey("labels", "columns", "Labels beside each other.", "Left out: 3.", "3"),
    DesignKey("labels", "rows", "Labels above each other.", "Left out: 8.", "8"),
    DesignKey("labels", "left", "From the left edge of the paper to the first label.",
              "Left out: so that they stand in the middle.", '"1/2"'),
    DesignKey("labels", "top", "From the top edge of the paper to the first label.",
              "Left out: so that they stand in the middle.", '"1/2"'),
    DesignKey("labels", "column_gap", "Between two labels beside each other.", "Left out: 0.", '"0"'),
    DesignKey("labels", "row_gap", "Between two labels above each other.", "Left out: 0.", '"0"'),
    DesignKey("saw", "rip_kerf", "Width of wood that a rip turns into dust.", "Left out: the table saw's kerf.",
              '"1/8"'),
    DesignKey("saw", "crosscut_kerf", "Width of wood that a crosscut turns into dust.",
              "Left out: the widest kerf of the saws that you crosscut with.", '"1/8"'),
    DesignKey("saw", "mark", "The smallest mark on your tape: parts are cut to it.",
              "Left out: 1/16 in, or 1 mm in a millimetre design.", '"1/16 in"', "saw.smallest_mark",
              "saw.smallest_mark_metric"),
    DesignKey("saw", "end_trim", "Squared off each end of a new board.", fact="saw.end_trim", national="saw.end_trim"),
    DesignKey("saw", "edge_allowance", "Ripped off each edge of a board.", fact="saw.edge_trim",
              national="saw.edge_trim"),
    DesignKey("saw", "shortest_offcut", "Shortest offcut that you keep.", fact="saw.offcut_least",
              national="saw.offcut_least"),
    DesignKey("saw", "narrowest_offcut", "Narrowest offcut that you keep.", fact="saw.offcut_narrowest",
              national="saw.offcut_narrowest"),
    DesignKey("saw", "thinnest_rip", "Thinnest strip that you rip.", fact="saw.thinnest_rip",
              national="saw.thinnest_rip"),
    DesignKey("saw", "narrow_rip", "Strips narrower than this are ripped as narrow ones: see wood_in_hand.",
              fact="saw.jig_below", national="saw.jig_below"),
    DesignKey("saw", "wood_in_hand", "Width of board left between blade and fence after a narrow rip.",
              fact="saw.parent_least", national="saw.parent_least"),
    DesignKey("saw", "shortest_rip", "Shortest piece that you rip; shorter parts are crosscut after ripping.",
              fact="saw.shortest_to_rip", national="saw.shortest_to_rip"),
    DesignKey("saw", "longest_rip", "Longest board that you rip; longer ones are first crosscut to sections.",
              fact="saw.longest_to_rip", national="saw.longest_to_rip"),
    DesignKey("saw", "least_remainder", "Wood that stays beside the last rip: no part is a remainder.",
              fact="saw.least_remainder", national="saw.least_remainder"),
    DesignKey("saw", "straight_edge_cut", "Cut off each edge of a board whose edges are not known to be straight.",
              fact="saw.straight_edge_cut", national="saw.straight_edge_cut"),
    DesignKey("saw", "remainder_allowance", "How far off a part may be that is the remainder of a board: such parts "
              "are then planned, and you measure the board.", "Left out: every part gets its own cuts.", '"1/16"'),
    DesignKey("saw", "strips", "How narrow strips are ripped: thin-rip stop, against a stop ahead of the blade; or "
              "fall free, with the fence set to what is left of each board.",
              'Left out: "thin-rip stop".', '"thin-rip stop"'),
    DesignKey("tools", "crosscut_with", "Saws that you crosscut with, the one you like best first: miter saw, circular "
              "saw (with a guide), sled (on the table saw), hand saw.",
              "Left out: miter saw and circular saw.", '["miter saw", "circular saw"]', "tool.crosscut_with",
              "tool.crosscut_with"),
    DesignKey("tools", "table_saw_kerf", "Kerf of the table saw's blade: cut a groove in scrap and measure it.",
              fact="tool.table_saw_kerf", national="tool.table_saw_kerf"),
    DesignKey("tools", "miter_saw_kerf", "Kerf of the miter saw's blade.", fact="tool.miter_saw_kerf",
              national="tool.miter_saw_kerf"),
    DesignKey("tools", "circular_saw_kerf", "Kerf of the circular saw's blade.", fact="tool.circular_saw_kerf",
              national="tool.circular_saw_kerf"),
    DesignKey("tools", "hand_saw_kerf", "Kerf of the hand saw.", fact="tool.hand_saw_kerf",
              national="tool.hand_saw_kerf"),
    DesignKey("tools", "miter_saw_width", "Widest board that your miter saw crosses; wider ones get another saw.",
              fact="tool.miter_saw_width", national="tool.miter_saw_width"),
    DesignKey("tools", "long_board", "Boards longer than this need support on both sides of a crosscut, and are never "
              "crosscut on a table saw.", fact="tool.long_board", national="tool.long_board"),
    DesignKey("tools", "thin_strip", "Strips thinner or narrower than this are crosscut by hand in a miter box.",
              fact="tool.thin_strip", national="tool.thin_strip"),
    DesignKey("worth", "layout", "What one layout less to mark out and saw is worth.", "Left out: nothing.",
              '"1.00"'),
    DesignKey("worth", "setting", "What one setting of fence or stop less is worth, counted layout by layout.",
              "Left out: nothing.", '"0.25"'),
    DesignKey("worth", "offcut", "What an offcut of the least size is worth; a larger one more, by its area, a smaller "
              "one nothing. No more than the same wood costs in a new board.", "Left out: nothing.", '"0.20"'),
    DesignKey("worth", "least_length", "Length of that offcut.", "Left out: shortest_offcut of [saw].",
              '"16"'),
    DesignKey("worth", "least_width", "Width of that offcut.", "Left out: narrowest_offcut of [saw].",
              '"1 1/2"'),
    DesignKey("buying", "on", "The day you mean to buy. Prices older than a yard allows are flagged by it.",
              "Left out: the earliest due date.", "2026-10-03"),
    DesignKey("buying", "one_yard_only", "Whether all is bought at one yard: the one where it costs least.",
              "Left out: false, wherever it costs least together.", "true"),
    DesignKey("buying", "ready_made", "Items that may be bought ready-made where that is cheaper; one, or several in a "
              "list. The yard file has them under [[ready]].", "Left out: none, all is made.", '"mouse guard"'),
    DesignKey("check", "bee_space", "A published band of bee space, by name; see: woodshop sources bee_space.band.",
              'Left out: "most quoted", 1/4 to 3/8 in.', '"most quoted"'),
    DesignKey("trial", "mass", "Weight of the sugar that filled the box, struck off level, damp as packed, without "
              "the box: the water is subtracted. Several in a list, one for each packing.",
              "Left out: the density under [board].", '"..."'),
    DesignKey("trial", "box", "Inside of that box: length, width, depth.", "Left out: none.", '["...", "...", "..."]'),
    DesignKey("trial", "water", "Water in that mix, by weight of the dry sugar, in percent; boards are mixed so too.",
              "Left out: the recipe's.", '"..."'),
    DesignKey("trial", "mass_within", "How well the scale weighs, either way.", fact="trial.mass_within",
              national="trial.mass_within"),
    DesignKey("trial", "length_within", "How well the box was measured, either way.", fact="trial.length_within",
              national="trial.length_within"),
    DesignKey("climate", "outside", "Temperature outside with its unit: one, or the mean of each month in a list of "
              "twelve from January.", "Left out: no page on the cold.", '"..."'),
    DesignKey("climate", "hive_air", "Temperature of the air under the top, over the bees.", example='"..."',
              fact="heat.hive_air", national="heat.hive_air"),
    DesignKey("climate", "humidity", "Its relative humidity.", example='"..."', fact="heat.hive_humidity",
              national="heat.hive_humidity"),
    DesignKey("climate", "honey", "Honey that a colony eats in a month: one figure, or twelve from January.",
              example='"..."', fact="heat.honey_a_month", national="heat.honey_a_month"),
    DesignKey("climate", "foam", "Thickness of foam that lies under the cover's top.", "Left out: none.", '"..."'),
    DesignKey("climate", "foam_kind", "Which: xps, or expanded polystyrene of a type of ASTM C578, from light to dense "
              "eps_xi, eps_i, eps_viii, eps_ii, eps_ix.", 'Left out: "xps".', '"xps"'),
    DesignKey("tolerance", "saw", "How far a ripped width or thickness strays, either way.", fact="tolerance.saw",
              national="tolerance.saw"),
    DesignKey("tolerance", "tape", "How far a length crosscut to a tape or a stop strays, either way.",
              fact="tolerance.tape", national="tolerance.tape"),
    DesignKey("tolerance", "rabbet", "How far the height of a rabbet or groove strays, either way.",
              fact="tolerance.rabbet", national="tolerance.rabbet"),
    DesignKey("tolerance", "board", "How far bought boards stray from their width and thickness, either way.",
              fact="tolerance.board", national="tolerance.board"),
    DesignKey("tolerance", "sheet", "How far a fluted sheet strays from its thickness, either way.",
              fact="tolerance.sheet", national="tolerance.sheet"),
    DesignKey("tolerance", "gap", "How far off a gap read under the straightedge may be, either way.",
              fact="tolerance.gap", national="tolerance.gap"),
    DesignKey("tolerance", "box", "How far like boxes and covers stray from the sizes given, either way.",
              fact="tolerance.box", national="tolerance.box"),
    DesignKey("tolerance", "box_height", "How far boxes stray from the height given, either way.",
              fact="tolerance.box_height", national="tolerance.box_height"),
    DesignKey("tolerance", "frame", "How far frames stray from their sizes, either way.", fact="tolerance.frame",
              national="tolerance.frame"),
    DesignKey("moisture", "species", "Wood of what is made; of those the table has, the one most like it. See: "
              "woodshop sources wood.tangential.", fact="moisture.species", national="moisture.species"),
    DesignKey("moisture", "boxes_species", "Wood of your boxes and frames.", "Left out: as what is made.",
              '"western_redcedar"'),
    DesignKey("moisture", "shop", "How damp the wood is when it is cut: what a meter reads, or the air it lies in, "
              "temperature before humidity.", fact="moisture.shop", national="moisture.shop"),
    DesignKey("moisture", "measured", "The same of your boxes on the day they were measured.",
              "Left out: midway between winter and summer.", '"50 F, 70 %"'),
    DesignKey("moisture", "winter", "The same of all the wood in the yard in winter.", fact="moisture.winter",
              national="moisture.winter"),
    DesignKey("moisture", "summer", "The same in summer.", fact="moisture.summer", national="moisture.summer"),
    DesignKey("make", "item", "What to make; several with the same settings in a list. \"board\" is rim, mesh "
              "floor and strips. See: woodshop items.",
              "Required."),
    DesignKey("make", "hives", "For which hives, by their names in a list.", "Left out: for all."),
    DesignKey("make", "spare", "How many more than there are hives.", "Left out: 0.", "0"),
    DesignKey("box", "name", "What the orders call it.", "Required.", '"mill lane tens"'),
    DesignKey("set", "name", "What the orders call it. A board is one already: rim, mesh floor and strips.",
              "Required.", '"winter set"'),
    DesignKey("set", "item", "The items, or board, in a list.", "Required.", '["board", "quilt box"]'),
    DesignKey("order", "customer", "Who orders, always spelled alike.", "Required.", '"Mill Lane Bees"'),
    DesignKey("order", "order", "The number of the order; what one order has for one box goes on the same hives.",
              "Left out: the customer's lines are one order.", '"A-17"'),
    DesignKey("order", "item", "What is ordered: an item, a set, or several with + between them.", "Required.",
              '"board + quilt box"'),
    DesignKey("order", "box", "For which box: one of this file, a maker's by frames and width, or the customer's own "
              'in a measured file, as "wren-boxes.toml: wren eights".', "Required.", '"10-frame 16 1/4"'),
    DesignKey("order", "count", "For how many hives.", "Required.", "20"),
    DesignKey("order", "form", "How far it is made; see hives.form.",
              "Left out: that of the same hives; needed for boards, quilt boxes, feeders and cake rims.", '"flat kit"'),
    DesignKey("order", "due", "The day promised: a date, or text with the year first.", "Left out: on_by.",
              "2026-11-15"),
    DesignKey("order", "priority", "1 first, 9 last.", "Left out: 5.", "5"),
    DesignKey("order", "note", "A remark; woodshop orders prints it.", "Left out: none.", '"fetched on Friday"'),
)  # fmt: skip


def design_key(table: str, name: str) -> DesignKey:
    """The key of that table; KeyError when there is none."""
    return {(each.table, each.name): each for each in KEYS}[table, name]
