"""The report as one page: everything that it needs stands in it, and it asks nothing of a network.

The content security policy in its head lets a browser run this page's own script and style, by
their checksums, and load nothing at all.
"""

import base64
import hashlib
from collections.abc import Iterable, Mapping

import pandas as pd

from pipeline.core.layer import Layer
from pipeline.fire.layers import BURN_BLOCKS, FIREBREAKS
from pipeline.fire.mowing.layers import MOW_STRIPS
from pipeline.ground.layers import GROUND_TOTALS
from pipeline.pages import palette
from pipeline.pages.cautions import CAUTION, CAUTIONS
from pipeline.pages.markup import Markup, joined, tag
from pipeline.pages.packing import packed_fold
from pipeline.pages.report_sections import Section, report_sections
from pipeline.pages.report_tables import column_looks
from pipeline.pages.words import figure_words, number_words, plain
from pipeline.pages.work.first_screen import draw_first_screen, draw_head, plan_day

Frames = Mapping[str, pd.DataFrame]


def report_page(frames: Frames, *, stamp: str, crs_name: str, style: str, script: str) -> str:
    """The whole page from the layers. ``stamp`` is the time of the newest source.

    ``style`` is the style sheet, to which the colors of the palette are added.
    """
    name, season = property_name(frames)
    as_of = plan_day(frames, stamp)
    sections = report_sections(frames, stamp=stamp, crs_name=crs_name)
    links = [tag("a", s.title, attributes={"href": f"#{s.key}"}) for s in sections]
    many = len(frames["units"]) >= FOLDED_FROM
    content = [
        _section(section, folded=many and section.key not in UNFOLDED) for section in sections
    ]
    body = tag(
        "body",
        tag("a", "Skip to the tables", attributes={"class": "skip", "href": "#units"}),
        draw_head(frames, as_of),
        tag(
            "main",
            draw_first_screen(frames, as_of),
            tag("nav", *links, attributes={"aria-label": "Sections"}),
            _only_field(),
            _figures(frames),
            _cautions(),
            *content,
            _unprinted(sections, many=many),
        ),
        tag("footer", tag("p", f"Newest source: {stamp[:10]}. {CAUTION}")),
        tag("script", Markup(script)),
    )
    head = draw_page_head(f"{name} {season}", LOOKS + style, script)
    return f'<!DOCTYPE html>\n<html lang="en">{head}{body}</html>\n'


def _only_field() -> Markup:
    """The field by which the tables are kept to some units; the page's script brings it up."""
    field = {"type": "search", "id": "only", "autocomplete": "off"}
    return tag(
        "div",
        tag("label", "Show only units named ", tag("input", attributes=field)),
        tag("span", attributes={"id": "only-told", "role": "status"}),
        attributes={"class": "only", "hidden": True},
    )


COLORS = (
    f":root{{--ink:{palette.INK};--faint:{palette.FAINT_INK};"
    f"--paper:{palette.PAPER};--ground:{palette.GROUND}}}\n"
)
"""The colors that the style sheet takes from the palette of the map."""


MARKS = (
    f".photodot{{stroke:{palette.PHOTO_STROKE.color};stroke-width:8px;fill:none;"
    "stroke-linecap:round;stroke-dasharray:none}\n"
)
"""Marks that stand on shapes of their layer with a look of their own."""


LOOKS = COLORS + MARKS + column_looks()
"""What is put before the style sheet of a page with tables."""


def property_name(frames: Frames) -> tuple[str, str]:
    """Name and season of the property."""
    row = frames["property"].iloc[0]
    return plain(row["name"]), str(row["season"])


def draw_page_head(title: str, style: str, script: str) -> Markup:
    """Head of a page that may run its own script and style and load nothing at all."""
    policy = (
        f"default-src 'none'; script-src '{_checksum(script)}'; "
        f"style-src '{_checksum(style)}'; img-src data:; base-uri 'none'; "
        "form-action 'none'"
    )
    width = "width=device-width, initial-scale=1"
    return tag(
        "head",
        tag("meta", attributes={"charset": "utf-8"}),
        tag("meta", attributes={"http-equiv": "Content-Security-Policy", "content": policy}),
        tag("meta", attributes={"name": "viewport", "content": width}),
        tag("title", title),
        tag("style", Markup(style)),
    )


def _checksum(text: str) -> str:
    """Checksum of a script or style as a content security policy writes it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _figures(frames: Frames) -> Markup:
    """The few figures that a person asks for first."""
    units, blocks, strips = frames["units"], frames["burn_blocks"], frames["mow_strips"]
    order = frames["seed_order"]
    facts = [("Units", f"{len(units)}"), *_acres(frames["ground_totals"])]
    if len(blocks):
        facts += [
            ("Burnable in blocks", burnable_words(blocks)),
            ("Break to prepare", _status_words(frames["firebreaks"], "prepare")),
            ("Gaps to close", _status_words(frames["firebreaks"], "gap")),
        ]
    if len(strips):
        facts.append(("Mowing", _sum_words(strips, MOW_STRIPS, "hours")))
    if len(order):
        facts.append(("Seed needed", f"{number_words(order['pls_needed_lb'].sum(), 0)} lb PLS"))
        facts.append(("Seed to buy", cost_words(order)))
    pairs = [tag("div", tag("dt", term), tag("dd", words)) for term, words in facts]
    return tag("dl", *pairs, attributes={"class": "figures"})


def _acres(ground_totals: pd.DataFrame) -> list[tuple[str, str]]:
    """Acres of the property: one figure, or three where outlines overlap."""
    summed, ground, twice = (
        _sum_words(ground_totals, GROUND_TOTALS, name)
        for name in ("units_ac", "ground_ac", "overlap_ac")
    )
    if summed == ground:
        return [("Gross", ground)]
    return [("Ground covered", ground), ("Units summed", summed), ("Counted twice", twice)]


def _sum_words(rows: pd.DataFrame, layer: Layer, name: str) -> str:
    """Sum of a column, rounded once."""
    return figure_words(rows[name].sum(), layer.column(name))


def burnable_words(blocks: pd.DataFrame) -> str:
    """Acres to burn of all blocks, and how many of them are not in the sum: refused by a gate."""
    known = _sum_words(blocks, BURN_BLOCKS, "burnable_ac")
    refused = int(blocks["burnable_ac"].isna().sum())
    if not refused:
        return known
    are = "block is" if refused == 1 else "blocks are"
    if refused == len(blocks):
        return f"not told: {refused} {are} refused, see the findings"
    return f"{known}; {refused} {are} refused and not in it"


def _status_words(breaks: pd.DataFrame, status: str) -> str:
    """Length of break of a status; a stretch that two blocks share counts once."""
    return _sum_words(breaks[breaks["status"] == status], FIREBREAKS, "length_ft")


def cost_words(order: pd.DataFrame) -> str:
    """Cost of what is to be bought, and how many rows of it have no price."""
    wanted = (order[["pls_to_order_lb", "bulk_to_order_lb"]] > 0).any(axis="columns")
    unpriced = int((order["cost_usd"].isna() & wanted).sum())
    if order["cost_usd"].isna().all():
        return f"{unpriced} without a price"
    known = f"${number_words(order['cost_usd'].sum(), 0)}"
    return f"{known} and {unpriced} without a price" if unpriced else known


def _cautions() -> Markup:
    items = [tag("li", words) for words in CAUTIONS]
    return tag(
        "section",
        tag("h2", "Cautions", attributes={"id": "cautions"}),
        tag("ul", *items),
        attributes={"class": "caution", "aria-labelledby": "cautions"},
    )


def _section(section: Section, *, folded: bool) -> Markup:
    """A section with its heading; a folded one is unfolded by its heading, then printed too."""
    key = section.key
    heading = tag("h2", section.title, attributes={"id": f"{key}-title"})
    if folded:
        inside = packed_fold(heading, section.content, {"class": "section"})
    else:
        inside = joined((heading, section.content))
    told = {"id": key, "aria-labelledby": f"{key}-title"}
    return tag(
        "section", inside, attributes=told if section.on_paper else told | {"class": "screen"}
    )


def _unprinted(sections: Iterable[Section], *, many: bool) -> Markup:
    """On paper: what stands on the screen alone; of ``many`` units, what was folded there too."""
    titles = ", ".join(section.title.lower() for section in sections if not section.on_paper)
    words = f"On the screen alone: {titles}. "
    words += "A section that is folded on the screen is printed once it was opened. " * many
    words += "Tasks, conflicts, lines and seeding areas are printed in packet.pdf as well."
    return tag("p", words, attributes={"class": "paper"}) if titles else Markup("")


UNFOLDED = ("findings", "map-section")
"""Sections that stay open however many units there are."""


FOLDED_FROM = 40
"""Units from which on the other sections are folded and packed."""
