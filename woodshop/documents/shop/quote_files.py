"""All files of a run's costs and quotes, as bytes by their path; nothing is written here."""

from pathlib import Path

from woodshop.documents.shop.costs import costs_csv, costs_data, costs_document
from woodshop.documents.shop.quote import file_stem, quote_data, quote_document
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.values.model import Bullets, Data, Heading, KeyValues, Section
from woodshop.files.one_file import json_bytes
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.shop_file import Shop
from woodshop.trade.costing import RunCost
from woodshop.trade.quotes import Quote, products_of, shares_of
from woodshop.units.lengths import Money


def quote_files(planned: PlannedBatch, run: RunCost, quotes: tuple[Quote, ...], shop: Shop) -> dict[str, bytes]:
    """`costs.pdf`, `.csv` and `.json`, and a PDF and a JSON file for every quote."""
    paper = planned.batch.pages.paper
    products, shares = products_of(run, shop), shares_of(planned, run, shop)
    files = {
        "costs.pdf": write_pdf(costs_document(planned, run, products, shares, shop), paper),
        "costs.csv": costs_csv(run, products, shop),
        "costs.json": _data_file(costs_data(planned, run, products, shares, shop)),
    }
    for n, quote in enumerate(quotes, 1):
        stem = file_stem(n, quote.customer)
        files[f"{stem}.pdf"] = write_pdf(quote_document(planned, quote, shop), paper)
        files[f"{stem}.json"] = _data_file(quote_data(planned, quote, shop))
    return files


def _data_file(data: Data) -> bytes:
    return json_bytes(section_json(Section("", (), data)))


def quote_section(planned: PlannedBatch, run: RunCost, quotes: tuple[Quote, ...], shop: Shop, folder: Path) -> Section:
    """What to say when they are written."""
    shares = shares_of(planned, run, shop)
    summed: dict[str, str | int] = {"batch": planned.batch.name, "folder": str(folder), "cost": str(run.total)}
    if not shop.is_bill:
        summed["quotes"] = len(quotes)
        summed["sold"] = str(Money(sum(share.price for share in shares), run.currency))
    borne = {share.name: str(Money(share.total, run.currency)) for share in shares}
    remarks = [remark for quote in quotes for remark in quote.remarks]
    blocks = (
        KeyValues(tuple(summed.items())),
        Heading("Who bears what", 3),
        KeyValues(tuple(borne.items())),
        Bullets(tuple(remarks)),
    )
    return Section("", blocks, {**summed, "shares": borne, "remarks": remarks})
