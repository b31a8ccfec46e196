"""The saw page: its files as a server sends them, and saw.html, one file that needs no server."""

import base64
import hashlib
import json
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from woodshop.documents.saw.saw_data import FIRST_ARTICLE, SAW_FORMAT, saw_data
from woodshop.errors import InputError, Problem
from woodshop.plan.values import PlannedBatch

ASSETS = {
    "saw.html": "text/html; charset=utf-8",
    "saw.css": "text/css; charset=utf-8",
    "saw.js": "text/javascript; charset=utf-8",
}
"""The static files of the page, and the media type of each."""
_DATA = re.compile(r'<script type="application/json" id="saw-data">(.*?)</script>', re.S)


@cache
def asset(name: str) -> bytes:
    """The content of one of the `ASSETS`. Raises KeyError for any other name."""
    if name not in ASSETS:
        raise KeyError(name)
    return files(__package__).joinpath(name).read_bytes()


def saw_html(
    planned: PlannedBatch, plan: str, *, is_rest: bool = False, files: Mapping[str, str] | None = None
) -> bytes:
    """The saw page of a plan as one file: style, script and data inside, no address outside.

    `plan`, `is_rest` and `files` are as in `saw_data`. A content security policy allows only this style and this
    script.
    """
    return one_file(saw_data(planned, plan, is_rest=is_rest, files=files))


def with_pages_of_packet(page: bytes, pages: Mapping[str, int]) -> bytes:
    """The saw.html with the page of the packet's chapter about the first article. `pages` has the page by anchor."""
    data, at = data_of(page, "saw.html"), pages.get(FIRST_ARTICLE)
    return one_file({**data, "first_article": {"page": at}}) if data["first_article"] and at else page


def one_file(data: dict[str, Any]) -> bytes:
    """The saw page with this data as one file."""
    style, script = (asset(name).decode() for name in ("saw.css", "saw.js"))
    policy = (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    text = asset("saw.html").decode()
    inside = {
        '<meta charset="utf-8">': f'<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<link rel="stylesheet" href="saw.css">': f"<style>{style}</style>",
        '<script src="saw.js" defer></script>': f'<script type="application/json" id="saw-data">{_escaped(data)}'
        f"</script>\n<script>{script}</script>",
    }
    for old, new in inside.items():
        before, _, after = text.partition(old)
        text = before + new + after
    return text.encode()


def data_of(page: bytes, where: str) -> dict[str, Any]:
    """The data inside a saw.html; `where` names the file. Raises InputError if it is not a page of this version."""
    found = _DATA.search(page.decode("utf-8", "replace"))
    try:
        data = json.loads(found[1]) if found else None
    except ValueError:
        data = None
    if not isinstance(data, dict) or data.get("format") != SAW_FORMAT:
        raise InputError(Problem(where, "no data of the saw page", f"a {SAW_FORMAT} page", "Plan the batch again."))
    return data


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _escaped(data: dict[str, Any]) -> str:
    """The data as JSON in ASCII in which nothing can end the script element or begin a comment."""
    text = json.dumps(data, ensure_ascii=True, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
