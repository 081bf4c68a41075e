"""The report as one page: everything that it needs stands in it, and it asks nothing of a network.

The content security policy in its head lets a browser run this page's own script and style, by
their checksums, and load nothing at all.
"""

import base64
import hashlib
from collections.abc import Mapping
from typing import TYPE_CHECKING

from pipeline.pages.cautions import CAUTION, CAUTIONS
from pipeline.pages.markup import Markup, given, tag
from pipeline.pages.report_script import REPORT_SCRIPT
from pipeline.pages.report_sections import report_sections
from pipeline.pages.report_style import REPORT_STYLE
from pipeline.pages.words import number_words

if TYPE_CHECKING:
    import pandas as pd


Frames = Mapping[str, "pd.DataFrame"]


def report_page(frames: Frames, *, stamp: str, crs_name: str) -> str:
    """The whole page from the layers. ``stamp`` is the time of the newest source."""
    name, season = property_name(frames)
    sections = report_sections(frames, stamp=stamp, crs_name=crs_name)
    links = [tag("a", s.title, attributes={"href": f"#{s.key}"}) for s in sections]
    content = [_section(s.key, s.title, s.content) for s in sections]
    body = tag(
        "body",
        tag("a", "Skip the map", attributes={"class": "skip", "href": "#units"}),
        tag(
            "header",
            tag("h1", given(name)),
            tag("p", f"Season {season}", attributes={"class": "season"}) if season else "",
            _figures(frames),
        ),
        tag(
            "main",
            _cautions(),
            tag("nav", *links, attributes={"aria-label": "Sections"}),
            *content,
        ),
        tag("footer", tag("p", f"Newest source: {stamp}. {CAUTION}")),
        tag("script", Markup(REPORT_SCRIPT)),
    )
    return f'<!DOCTYPE html>\n<html lang="en">{_head(name, season)}{body}</html>\n'


def property_name(frames: Frames) -> tuple[str, str]:
    """Name and season of the property."""
    own = frames["property"].iloc[0]
    return str(own["name"]), str(own["season"])


def _head(name: str, season: str) -> Markup:
    policy = (
        f"default-src 'none'; script-src '{_checksum(REPORT_SCRIPT)}'; "
        f"style-src '{_checksum(REPORT_STYLE)}'; img-src data:; base-uri 'none'; "
        "form-action 'none'"
    )
    width = "width=device-width, initial-scale=1"
    return tag(
        "head",
        tag("meta", attributes={"charset": "utf-8"}),
        tag("meta", attributes={"http-equiv": "Content-Security-Policy", "content": policy}),
        tag("meta", attributes={"name": "viewport", "content": width}),
        tag("title", f"{name} {season}".strip()),
        tag("style", Markup(REPORT_STYLE)),
    )


def _checksum(text: str) -> str:
    """Checksum of a script or style as a content security policy writes it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _figures(frames: Frames) -> Markup:
    """The few figures that a person asks for first."""
    units, blocks, strips = frames["units"], frames["burn_blocks"], frames["mow_strips"]
    order = frames["seed_order"]
    facts = [
        ("Units", f"{len(units)}"),
        ("Gross", f"{number_words(units['gross_ac'].sum(), 1)} ac"),
    ]
    if len(blocks):
        facts.append(("Burnable in blocks", f"{number_words(blocks['burnable_ac'].sum(), 1)} ac"))
        facts.append(("Break to prepare", f"{number_words(_status_ft(frames, 'prepare'), 0)} ft"))
        facts.append(("Gaps to close", f"{number_words(_status_ft(frames, 'gap'), 0)} ft"))
    if len(strips):
        facts.append(("Mowing", f"{number_words(strips['hours'].sum(), 1)} h"))
    if len(order):
        facts.append(("Seed needed", f"{number_words(order['pls_needed_lb'].sum(), 0)} lb PLS"))
        facts.append(("Seed to buy", _cost_words(order)))
    pairs = [tag("div", tag("dt", term), tag("dd", words)) for term, words in facts]
    return tag("dl", *pairs, attributes={"class": "figures"})


def _cost_words(order: "pd.DataFrame") -> str:
    """Cost of what is to be bought, and how many rows of it have no price."""
    unpriced = int((order["cost_usd"].isna() & (order["bulk_to_order_lb"] > 0)).sum())
    known = f"${number_words(order['cost_usd'].sum(), 0)}"
    return f"{known} and {unpriced} without a price" if unpriced else known


def _status_ft(frames: Frames, status: str) -> float:
    """Length of break of a status [foot]; a stretch that two blocks share counts once."""
    breaks = frames["firebreaks"]
    return float(breaks.loc[breaks["status"] == status, "length_ft"].sum())


def _cautions() -> Markup:
    items = [tag("li", words) for words in CAUTIONS if words != CAUTION]
    return tag(
        "section",
        tag("h2", CAUTION),
        tag("ul", *items),
        attributes={"class": "caution", "aria-label": "Cautions"},
    )


def _section(key: str, title: str, content: Markup) -> Markup:
    return tag(
        "section",
        tag("h2", title, attributes={"id": f"{key}-title"}),
        content,
        attributes={"id": key, "aria-labelledby": f"{key}-title"},
    )
