"""Sheets that go to a dealer and come back: one a vendor, and one of tags to be read in again.

On a vendor's sheet everything follows from the shaded cells, which a person may type over: tag,
pack and price. The formulas carry the values of the run, for programs that do not compute.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields
from typing import Any

import pandas as pd
from xlsxwriter.utility import xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

from pipeline.core.run import Run
from pipeline.core.units import OZ_PER_LB
from pipeline.pages.words import code_words
from pipeline.seed.layers import SEED_LOTS
from pipeline.seed.packs import PACK_TOLERANCE
from pipeline.write.cell_formats import Formats

HEAD_ROW = 9
"""Row of the headings on a vendor's sheet, below the terms of the order."""


NO_VENDOR = "no vendor yet"


LONGEST_NAME = 31
"""Letters that the name of a sheet may have."""


@dataclass(frozen=True, slots=True)
class DealerColumn:
    """One column of a vendor's sheet.

    ``typed`` cells are shaded. A ``formula`` names other columns in braces; it takes the place of
    the value wherever it stands.
    """

    name: str
    heading: str
    format: str = "@"
    typed: bool = False
    formula: str = ""
    width: int = 10
    total: bool = False


VIABLE = (
    "IF(AND(COUNT({germination_pct})=1,OR(COUNT({total_pct})=0,COUNT({hard_pct},{dormant_pct})>0)),"
    "SUM({germination_pct},{hard_pct},{dormant_pct}),{total_pct})"
)


KNOWN_VIABLE = "AND(COUNT({purity_pct})=1,COUNT({germination_pct},{total_pct})>0)"


PACKS = (
    f"{{bulk_to_buy_lb}}/{{pack_lb}}-{PACK_TOLERANCE:.10f}*MAX(1,{{bulk_to_buy_lb}}/{{pack_lb}})"
)


PCT, POUNDS, DOLLARS = "#,##0.00", "#,##0.00", "#,##0.00"


COLUMNS = (
    DealerColumn("species", "Species", width=24),
    DealerColumn("common_name", "Common name", width=20),
    DealerColumn("role", "Role", width=8),
    DealerColumn("wanted_variety", "Variety wanted", width=14),
    DealerColumn("wanted_origin", "Origin wanted", width=16),
    DealerColumn("inoculant", "Inoculant"),
    DealerColumn("need_by", "Need by", "yyyy-mm-dd", width=11),
    DealerColumn("lot", "Lot", typed=True, width=12),
    DealerColumn("variety", "Variety", typed=True, width=12),
    DealerColumn("origin", "Origin", typed=True, width=18),
    DealerColumn("pls_to_buy_lb", "PLS to buy (lb)", POUNDS),
    DealerColumn("purity_pct", "Purity (%)", PCT, typed=True),
    DealerColumn("germination_pct", "Germi- nation (%)", PCT, typed=True),
    DealerColumn("hard_pct", "Hard (%)", PCT, typed=True),
    DealerColumn("dormant_pct", "Dormant (%)", PCT, typed=True),
    DealerColumn("total_pct", "Total viable or TZ (%)", PCT, typed=True),
    DealerColumn("taken_pct", "PLS taken without a tag (%)", PCT, typed=True),
    DealerColumn(
        "pls_pct",
        "PLS (%)",
        PCT,
        formula=f"IF({KNOWN_VIABLE},{{purity_pct}}*{VIABLE}/100,"
        'IF(COUNT({taken_pct})=1,{taken_pct},""))',
    ),
    DealerColumn(
        "bulk_to_buy_lb",
        "Bulk to buy (lb)",
        POUNDS,
        formula="IF(COUNT({pls_to_buy_lb},{pls_pct})=2,"
        'IF({pls_pct}>0,{pls_to_buy_lb}/{pls_pct}*100,""),"")',
    ),
    DealerColumn("pack_lb", "Pack (lb)", "#,##0.0000", typed=True),
    DealerColumn("offered_bulk_lb", "On offer (lb)", POUNDS, typed=True),
    DealerColumn(
        "packs",
        "Packs",
        "#,##0.##",
        formula=f'IF(COUNT({{bulk_to_buy_lb}},{{pack_lb}})=2,ROUNDUP({PACKS},0),"")',
    ),
    DealerColumn(
        "bulk_to_order_lb",
        "Bulk to order (lb)",
        "#,##0.0000",
        formula="IF(COUNT({packs},{pack_lb})=2,"
        'MIN({packs}*{pack_lb},IF(COUNT({offered_bulk_lb})=1,{offered_bulk_lb},10^9)),"")',
        total=True,
    ),
    DealerColumn(
        "ounces",
        "That is (oz), under a pound",
        "#,##0.##",
        formula="IF(COUNT({bulk_to_order_lb})=1,"
        f'IF({{bulk_to_order_lb}}<1,{{bulk_to_order_lb}}*{OZ_PER_LB:.0f},""),"")',
    ),
    DealerColumn(
        "pls_to_order_lb",
        "PLS to order (lb)",
        POUNDS,
        formula='IF(COUNT({pls_to_buy_lb})=0,"",IF(COUNT({bulk_to_order_lb},{pls_pct})=2,'
        "{bulk_to_order_lb}*{pls_pct}/100,{pls_to_buy_lb}))",
        total=True,
    ),
    DealerColumn("price_usd_per_pls_lb", "Price ($/lb PLS)", DOLLARS, typed=True),
    DealerColumn("price_usd_per_bulk_lb", "or price ($/lb bulk)", DOLLARS, typed=True),
    DealerColumn(
        "cost_usd",
        "Cost ($)",
        DOLLARS,
        formula="IF(COUNT({pls_to_order_lb},{price_usd_per_pls_lb})=2,"
        "{pls_to_order_lb}*{price_usd_per_pls_lb},"
        "IF(COUNT({bulk_to_order_lb},{price_usd_per_bulk_lb})=2,"
        '{bulk_to_order_lb}*{price_usd_per_bulk_lb},""))',
        total=True,
    ),
)


NUMBER = {column.name: number for number, column in enumerate(COLUMNS)}


def dealer_lines(run: Run) -> pd.DataFrame:
    """Lines of the order that are bought, with the tags of their lots, by vendor."""
    order = run.frames["seed_order"]
    bought = order[order["packs"].notna() | order["lot"].isna()]
    tags = run.frames["lot_quality"].drop_duplicates("lot").set_index("lot")
    columns = ["purity_pct", "germination_pct", "hard_pct", "dormant_pct", "offered_bulk_lb"]
    told = tags[[*columns, "total_viable_pct", "tetrazolium_pct"]].reindex(bought["lot"])
    told.index = bought.index
    by_pls = bought["pls_to_buy_lb"].notna()
    lines = bought.join(told[columns]).assign(
        total_pct=told["total_viable_pct"].fillna(told["tetrazolium_pct"]),
        bulk_to_buy_lb=bought["bulk_to_order_lb"] - bought["excess_bulk_lb"],
        taken_pct=bought["pls_pct"].where(bought["lot"].isna() & by_pls),
        price_usd_per_bulk_lb=bought["price_usd_per_bulk_lb"].where(~by_pls),
        price_usd_per_pls_lb=bought["price_usd_per_pls_lb"].where(by_pls),
        ounces=(bought["bulk_to_order_lb"] * OZ_PER_LB).where(bought["bulk_to_order_lb"].lt(1)),
    )
    return lines.assign(vendor=lines["vendor"].fillna(NO_VENDOR))


def sheet_names(vendors: Iterable[str]) -> dict[str, str]:
    """Name of the sheet of each vendor: no two alike, without marks that a sheet may not have."""
    names: dict[str, str] = {}
    for vendor in vendors:
        plain = re.sub(r"[\[\]:*?/\\']", " ", f"Buy, {vendor}").strip()[:LONGEST_NAME]
        taken = {name.casefold() for name in names.values()}
        name, number = plain, 1
        while name.casefold() in taken:
            number += 1
            name = f"{plain[: LONGEST_NAME - 4]} {number}"
        names[vendor] = name
    return names


def write_vendor_sheet(
    page: Worksheet, lines: pd.DataFrame, formats: Formats, run: Run, vendor: str
) -> None:
    """One vendor's sheet: terms of the order, lines, totals, and pounds of each area if asked."""
    terms = terms_of(run.frames["settings"])
    page.set_landscape()
    page.fit_to_pages(1, 0)
    page.freeze_panes(HEAD_ROW + 1, 1)
    for number, column in enumerate(COLUMNS):
        page.set_column(number, number, column.width)
    title = f"Seed order to {vendor}: {run.name}, season {run.season}"
    page.write_string(0, 0, title, formats.of(bold=True, font_size=14))
    for row, words in enumerate(_terms_said(lines, terms), start=1):
        page.write_string(row, 0, words)
    head = formats.of(bold=True, text_wrap=True, valign="bottom", bottom=1)
    page.set_row(HEAD_ROW, 60)
    for number, column in enumerate(COLUMNS):
        page.write_string(HEAD_ROW, number, column.heading, head)
    rows = lines.astype(object).where(lines.notna(), None).to_dict("records")
    for row_number, row in enumerate(rows, HEAD_ROW + 1):
        _write_line(page, row, row_number, formats)
    last = HEAD_ROW + len(rows)
    _write_totals(page, rows, last, formats)
    if terms.bagging == "by_area":
        _write_areas(page, run.frames["seed_use"], lines, last + 4, formats)


@dataclass(frozen=True, slots=True)
class Terms:
    """Settings of [seed] that head an order, as the layer of settings has them; None: not given."""

    ship_to: str | None
    substitution: str | None
    bagging: str | None
    lowest_pls_pct: str | None
    test_months: str | None


def terms_of(settings: pd.DataFrame) -> Terms:
    """The terms out of the layer of settings."""
    of_seed = settings[settings["section"].eq("seed")]
    told = dict(zip(of_seed["setting"], of_seed["value"], strict=True))
    given = {name: value for name, value in told.items() if value != "not given"}
    return Terms(**{field.name: given.get(field.name) for field in fields(Terms)})


def _terms_said(lines: pd.DataFrame, terms: Terms) -> list[str]:
    """What heads the order: where to, until when, and on which terms."""
    first, lowest, months = lines["need_by"].min(), terms.lowest_pls_pct, terms.test_months
    by = "to be agreed" if pd.isna(first) else f"{first.date()}, the earliest line"
    law = f"{months} months after its month" if months else "the law of the state of delivery"
    by_area = terms.bagging == "by_area"
    return [
        f"Ship to: {terms.ship_to or '____________________   Phone: ______________'}",
        f"Need by: {by}. Dock or tailgate: ______________",
        f"Sold by pure live seed (PLS){f', at least {lowest} %' if lowest else ''}. "
        "Tag copies ahead.",
        f"Tests: good by {law}, on the day of sowing.",
        f"Substitution: {terms.substitution or 'to be agreed'}.",
        f"Bags: {'mixed for each area, as listed below' if by_area else 'by lot'}. Legumes with "
        "inoculant where it says so.",
        "No seed of a weed that is prohibited where it is sown.",
        "Shaded cells may be typed over: tag, pack, price. The rest follows.",
    ]


def _cells(row_number: int) -> dict[str, str]:
    """Address of each column's cell in a row."""
    return {name: xl_rowcol_to_cell(row_number, number) for name, number in NUMBER.items()}


def _write_line(page: Worksheet, row: dict[Any, Any], row_number: int, formats: Formats) -> None:
    """Cells of one line; what goes by weight has its pounds as a value, not a formula."""
    cells = _cells(row_number)
    for number, column in enumerate(COLUMNS):
        properties: dict[str, object] = {"num_format": column.format, "valign": "top"}
        by_weight = column.name == "bulk_to_buy_lb" and row["pls_to_buy_lb"] is None
        if column.typed or by_weight:
            properties |= {"bg_color": "#FFF4CC", "locked": False}
        style, value = formats.of(**properties), row[column.name]
        if column.formula and not by_weight:
            stored = "" if value is None else value
            page.write_formula(
                row_number, number, "=" + column.formula.format(**cells), style, stored
            )
        elif value is None:
            page.write_blank(row_number, number, None, style)
        elif column.name == "need_by":
            page.write_datetime(row_number, number, value.to_pydatetime(), style)
        elif column.name == "inoculant":
            page.write_string(row_number, number, "yes" if value else "", style)
        elif column.format == "@":
            words = code_words(value) if column.name == "role" else str(value)
            page.write_string(row_number, number, words, style)
        else:
            page.write_number(row_number, number, float(value), style)


def _write_totals(page: Worksheet, rows: list[dict[Any, Any]], last: int, formats: Formats) -> None:
    """Sums below the lines, and how many lines have no cost yet."""
    bold = formats.of(bold=True, top=1)
    page.write_string(last + 1, 0, "Total of what is known", bold)
    for number, column in enumerate(COLUMNS):
        if column.total:
            first, end = (xl_rowcol_to_cell(row, number) for row in (HEAD_ROW + 1, last))
            style = formats.of(bold=True, top=1, num_format=column.format)
            value = sum(row[column.name] or 0.0 for row in rows)
            page.write_formula(last + 1, number, f"=SUM({first}:{end})", style, value)
    cost = NUMBER["cost_usd"]
    first, end = (xl_rowcol_to_cell(row, cost) for row in (HEAD_ROW + 1, last))
    unpriced = sum(row["cost_usd"] is None for row in rows)
    page.write_string(last + 2, 0, "Lines without a cost", bold)
    page.write_formula(last + 2, cost, f"={len(rows)}-COUNT({first}:{end})", bold, unpriced)


def _write_areas(
    page: Worksheet, seed_use: pd.DataFrame, lines: pd.DataFrame, start: int, formats: Formats
) -> None:
    """Pounds of each line for each area, for a dealer who mixes by area."""
    keys = ["species", "lot", "role"]
    use = seed_use[seed_use["stock"].ne("held")].merge(lines[keys], on=keys)
    bold = formats.of(bold=True, bottom=1)
    for number, words in enumerate(("Area", "Species", "Lot", "PLS (lb)", "Bulk (lb)")):
        page.write_string(start, number, words, bold)
    amounts = formats.of(num_format=POUNDS)
    for row_number, row in enumerate(use.sort_values(["area", "species"]).itertuples(), start + 1):
        for number, words in enumerate((row.area, row.species, row.lot or "")):
            page.write_string(row_number, number, words)
        for number, amount in ((3, row.pls_lb), (4, row.bulk_lb)):
            if pd.notna(amount):
                page.write_number(row_number, number, amount, amounts)


def write_tags_sheet(page: Worksheet, run: Run, formats: Formats) -> None:
    """All lots and what is still to be bought under the headers of ``seed_lots``.

    Filled in and saved as CSV it is the table of lots of the next run.
    """
    quality = run.frames["lot_quality"]
    lots = quality[quality["viable_from"].ne("own_count")]
    no_limit = lots["on_offer"].astype(bool) & lots["offered_bulk_lb"].isna()
    lots = lots.assign(
        on_hand_bulk_lb=lots["on_hand_bulk_lb"].where(~no_limit),
        price_usd_per_bulk_lb=lots["price_usd_per_bulk_lb"].where(
            lots["price_usd_per_pls_lb"].isna()
        ),
        pls_pct=None,
    )
    order = run.frames["seed_order"]
    wanted = order.loc[order["lot"].isna(), ["species"]].drop_duplicates()
    wanted = wanted.assign(lot=[f"to be bought: {name}" for name in wanted["species"]])
    names = SEED_LOTS.column_names
    rows = pd.concat([part.reindex(columns=names).astype(object) for part in (lots, wanted)])
    head, day = formats.of(bold=True, bottom=1), formats.of(num_format="yyyy-mm-dd")
    text = formats.of(num_format="@")
    page.freeze_panes(1, 1)
    page.set_column(0, len(names) - 1, 14)
    for number, name in enumerate(names):
        page.write_string(0, number, name, head)
        for row_number, value in enumerate(rows[name], start=1):
            if pd.isna(value):
                continue
            if SEED_LOTS.column(name).kind == "date":
                page.write_datetime(row_number, number, pd.Timestamp(value).to_pydatetime(), day)
            elif SEED_LOTS.column(name).kind == "number":
                page.write_number(row_number, number, float(value))
            else:
                page.write_string(row_number, number, str(value), text)
