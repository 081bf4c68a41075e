"""The seed order as files: a CSV for programs and a workbook for the grower and the dealer."""

import csv
import math
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from pipeline.catalog import LAYERS
from pipeline.core.units import half_up

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from pipeline.core.run import Run


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """One column of a sheet: its heading, the column of the layer, its format and width.

    ``total`` columns are summed below. ``product_of`` names the two columns whose product is a
    formula, so that a changed price changes the sheet.
    """

    heading: str
    column: str
    style: str
    width: float = 11
    total: bool = False
    product_of: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its name, layer, the line under its title, and its columns.

    ``sources`` keeps only those rows of a layer that speak of one of them; empty keeps all.
    """

    name: str
    layer: str
    note: str
    columns: tuple[SheetColumn, ...]
    sources: tuple[str, ...] = ()


AREA = SheetColumn("Area", "area", "text", 18)


SPECIES = SheetColumn("Species", "species", "text", 24)


COMMON = SheetColumn("Common name", "common_name", "text", 25)


LOT = SheetColumn("Lot", "lot", "text", 14)


MIX = SheetColumn("Mix", "mix", "text", 18)


SEED_SOURCES = ("harvests", "mixes", "seed_bags", "seed_boxes", "seed_lots", "seed_order",
                "seed_use", "seedings", "species")  # fmt: skip


SEED_SHEETS: tuple[Sheet, ...] = (
    Sheet(
        "Order",
        "seed_order",
        "PLS = pure live seed. Shaded prices may be changed; costs and totals follow. Amounts to "
        "order are rounded up to whole packs; all else is shown rounded and added unrounded.",
        (
            SPECIES,
            COMMON,
            LOT,
            SheetColumn("Role", "role", "text", 8),
            SheetColumn("PLS of lot (%)", "pls_pct", "percent", 9),
            SheetColumn("Needed (lb PLS)", "pls_needed_lb", "pounds", 10, total=True),
            SheetColumn("Needed (lb bulk)", "bulk_needed_lb", "pounds", 10),
            SheetColumn("In the shed (lb bulk)", "bulk_on_hand_lb", "pounds", 10),
            SheetColumn("To order (lb bulk)", "bulk_to_order_lb", "pounds", 10),
            SheetColumn("Of it over (lb bulk)", "excess_bulk_lb", "pounds", 10),
            SheetColumn("To order (lb PLS)", "pls_to_order_lb", "pounds", 10),
            SheetColumn("Price ($ per lb PLS)", "price_usd", "price", 10),
            SheetColumn(
                "Cost ($)",
                "cost_usd",
                "money",
                11,
                total=True,
                product_of=("pls_to_order_lb", "price_usd"),
            ),
            SheetColumn("Tested", "tested", "date", 11),
            SheetColumn("Origin", "origin", "text", 22),
        ),
    ),
    Sheet(
        "By species",
        "seed_needs",
        "Held seed counts only up to what each lot holds. Prices cover held and bought seed alike.",
        (
            SPECIES,
            COMMON,
            SheetColumn("Needed (lb PLS)", "pls_needed_lb", "pounds", total=True),
            SheetColumn("In the shed (lb PLS)", "pls_held_lb", "pounds"),
            SheetColumn("Short (lb PLS)", "pls_short_lb", "pounds"),
            SheetColumn("To order (lb PLS)", "pls_to_order_lb", "pounds"),
            SheetColumn("Sown on (ac)", "sown_ac", "acres"),
            SheetColumn("Price ($ per lb PLS)", "cost_usd_per_pls_lb", "money"),
            SheetColumn("Price ($ per ac)", "cost_usd_ac", "money"),
            SheetColumn("Price ($ per 1,000 live seeds)", "cost_usd_per_thousand_seeds", "fine"),
            SheetColumn("Lots", "lots", "count", 7),
        ),
    ),
    Sheet(
        "Areas",
        "seed_areas",
        "Acres are net: what is left out of seeding is taken off. Nurse crops and carriers are "
        "counted apart.",
        (
            AREA,
            SheetColumn("Units", "unit_ids", "text", 16),
            MIX,
            SheetColumn("Method", "method", "text", 10),
            SheetColumn("Gross (ac)", "gross_ac", "acres", total=True),
            SheetColumn("Net, sown (ac)", "net_ac", "acres", total=True),
            SheetColumn("Live seeds (per sq ft)", "seeds_sqft", "acres"),
            SheetColumn("Rate (lb PLS per ac)", "pls_lb_ac", "pounds"),
            SheetColumn("Seed (lb PLS)", "pls_lb", "pounds", total=True),
            SheetColumn("Seed (lb bulk)", "bulk_lb", "pounds", total=True),
            SheetColumn("Nurse crop, carrier (lb)", "companion_lb", "pounds", total=True),
            SheetColumn("Seed ($ per ac)", "cost_usd_ac", "money"),
        ),
    ),
    Sheet(
        "Rates",
        "seed_rates",
        "Rate of the mix times each factor once gives the rate sown. Ounces are for small rates.",
        (
            AREA,
            MIX,
            SPECIES,
            COMMON,
            SheetColumn("Mix rate (lb PLS per ac)", "base_pls_lb_ac", "fine"),
            SheetColumn("Method factor", "method_factor", "factor", 8),
            SheetColumn("Season factor", "season_factor", "factor", 8),
            SheetColumn("Slope factor", "slope_factor", "factor", 8),
            SheetColumn("Sod factor", "sod_factor", "factor", 8),
            SheetColumn("Sown (lb PLS per ac)", "pls_lb_ac", "fine"),
            SheetColumn("Sown (oz PLS per ac)", "pls_oz_ac", "pounds"),
            SheetColumn("Live seeds (per sq ft)", "seeds_sqft", "pounds"),
            SheetColumn("Area (ac)", "net_ac", "acres"),
            SheetColumn("Seed (lb PLS)", "pls_lb", "pounds", total=True),
            SheetColumn("Seed (oz PLS)", "pls_oz", "pounds"),
        ),
    ),
    Sheet(
        "Boxes",
        "seed_boxes",
        "Set each box to seed as weighed plus carrier: that is what falls and what is caught.",
        (
            AREA,
            SheetColumn("Box", "box", "text", 10),
            SheetColumn("What goes in", "contents", "wrapped", 46),
            SheetColumn("Seed (lb bulk per ac)", "seed_bulk_lb_ac", "fine"),
            SheetColumn("Nurse crop, carrier (lb per ac)", "companion_lb_ac", "fine"),
            SheetColumn("Setting (lb per ac)", "setting_lb_ac", "fine"),
            SheetColumn("Whole area (lb)", "fill_lb", "pounds"),
            SheetColumn("Row spacing (in)", "row_spacing_in", "pounds", 9),
            SheetColumn("Row per sq ft (ft)", "row_ft_sqft", "pounds", 9),
            SheetColumn("Live seeds (per ft of row)", "seeds_row_ft", "pounds"),
            SheetColumn("Catch over (ft)", "catch_distance_ft", "acres", 9),
            SheetColumn("Catch should weigh (g)", "catch_g", "acres"),
        ),
    ),
    Sheet(
        "Lots to areas",
        "seed_use",
        "Keep this with the tags and invoices: a weed found later is traced by it.",
        (
            AREA,
            SPECIES,
            LOT,
            SheetColumn("From", "stock", "text", 10),
            SheetColumn("PLS of lot (%)", "pls_pct", "percent"),
            SheetColumn("Seed (lb PLS)", "pls_lb", "fine"),
            SheetColumn("Weigh out (lb bulk)", "bulk_lb", "fine"),
        ),
    ),
    Sheet(
        "Bags",
        "bag_rates",
        "A pre-mixed bag cannot be taken apart: the species that needs most decides.",
        (
            AREA,
            SheetColumn("Bag", "bag", "text", 16),
            SPECIES,
            SheetColumn("Wanted (lb PLS per ac)", "wanted_pls_lb_ac", "fine"),
            SheetColumn("PLS in whole bag (%)", "pls_pct", "percent"),
            SheetColumn("Bag needed for it (lb per ac)", "needs_bulk_lb_ac", "fine"),
            SheetColumn("It gets (lb PLS per ac)", "sown_pls_lb_ac", "fine"),
            SheetColumn("Decides", "limiting", "flag", 9),
            SheetColumn("Bag (lb per ac)", "bulk_lb_ac", "fine"),
            SheetColumn("Bag for the area (lb)", "bulk_lb", "pounds"),
        ),
    ),
    Sheet(
        "Own harvest",
        "own_harvest",
        "Not tested, no tag: not for sale, weeds unknown. Acres are low, likely and high.",
        (
            SheetColumn("Harvest", "harvest", "text", 18),
            SPECIES,
            SheetColumn("Gathered (lb bulk)", "bulk_lb", "pounds"),
            SheetColumn("Live seeds per g, low", "low_seeds_g", "pounds"),
            SheetColumn("Live seeds per g, likely", "likely_seeds_g", "pounds"),
            SheetColumn("Live seeds per g, high", "high_seeds_g", "pounds"),
            SheetColumn("Target (live seeds per sq ft)", "target_seeds_sqft", "pounds"),
            SheetColumn("Covers, low (ac)", "low_ac", "pounds"),
            SheetColumn("Covers, likely (ac)", "likely_ac", "pounds"),
            SheetColumn("Covers, high (ac)", "high_ac", "pounds"),
        ),
    ),
    Sheet(
        "Look at",
        "findings",
        "What to look at before ordering and sowing.",
        (
            SheetColumn("", "severity", "text", 9),
            SheetColumn("About", "subject", "text", 24),
            SheetColumn("What was found, and what to do", "message", "wrapped", 110),
        ),
        sources=SEED_SOURCES,
    ),
)


PLACES_BY_UNIT = {"pct": 2, "usd": 2, "lb": 4}
"""Decimal places in the CSV by the last part of a column's name; a pack of an ounce needs four."""


FORMULA_START = re.compile(r"^\s*[=+\-@\t\r]")


def plain_text(value: object) -> str:
    """Text that a spreadsheet will not take for a formula: a leading mark is put before it."""
    text = "" if value is None or value != value else str(value)
    return f"'{text}" if FORMULA_START.match(text) else text


def write_seed_order_csv(run: "Run", path: Path) -> None:
    """Write ``seed_order.csv``: the table ``seed_order``, rounded half up, unknown cells empty."""
    frame = run.frames["seed_order"]
    columns = LAYERS["seed_order"].columns
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file, lineterminator="\r\n")
        writer.writerow([column.name for column in columns])
        for row in frame.to_dict("records"):
            writer.writerow([_csv_cell(row[c.name], c.kind, c.name) for c in columns])


def _csv_cell(value: Any, kind: str, name: str) -> str:
    """One cell as text: dates as ISO, numbers rounded once."""
    if pd.isna(value):
        return ""
    if kind == "date":
        return value.date().isoformat()
    if kind == "number":
        return f"{half_up(value, PLACES_BY_UNIT[name.split('_')[-1]]):f}"
    return plain_text(value)


NUMBER_FORMATS = {
    "pounds": "#,##0.00",
    "fine": "#,##0.000",
    "acres": "#,##0.0",
    "percent": '0.00"%"',
    "factor": "0.00",
    "count": "0",
    "money": "#,##0.00",
    "price": "#,##0.00",
    "date": "yyyy-mm-dd  ",
    "text": "@",
    "wrapped": "@",
    "flag": "@",
}


PAPER_NUMBERS = {"letter": 1, "a4": 9}


TITLE_ROW, NOTE_ROW, HEAD_ROW = 0, 1, 3


HEAD_HEIGHT, LINE_HEIGHT = 45, 15


def write_seed_order_xlsx(run: "Run", path: Path) -> None:
    """Write ``seed_order.xlsx``: the order with prices to fill in, and what stands behind it.

    What a person will change is a formula (price times pounds, totals), with its value stored for
    programs that do not compute; acres and pounds are plain values.
    """
    import xlsxwriter

    options = {f"strings_to_{kind}": False for kind in ("formulas", "urls", "numbers")}
    title = f"{run.name}, season {run.season}"
    with xlsxwriter.Workbook(str(path), options) as book:
        created = datetime.fromisoformat(run.stamp).replace(tzinfo=None)
        book.set_properties({"title": f"Seed order: {title}", "created": created})
        formats = _formats(book)
        for sheet in SEED_SHEETS:
            rows = _rows(run.frames[sheet.layer], sheet)
            if rows:
                page = book.add_worksheet(sheet.name)
                _set_up(page, sheet, run)
                _set_heights(page, sheet, rows)
                _head(page, sheet, formats, title)
                _fill(page, sheet, rows, formats)
                _add_up(page, sheet, rows, formats)


def _rows(frame: pd.DataFrame, sheet: Sheet) -> list[dict[str, Any]]:
    """Rows of a sheet as plain values, None where a cell is empty."""
    columns = list(dict.fromkeys(c.column for c in sheet.columns))
    if sheet.sources:
        frame = frame[frame["source"].isin(sheet.sources)]
    plain = frame[columns].astype(object)
    return plain.where(plain.notna(), None).to_dict("records")


def _formats(book: "Workbook") -> "dict[str, Format]":
    """Cell formats by name; prices are shaded and unlocked, totals bold."""
    plain: dict[str, dict[str, Any]] = {
        name: {"num_format": number, "valign": "top"} for name, number in NUMBER_FORMATS.items()
    }
    plain["price"] |= {"bg_color": "#FFF4CC", "locked": False}
    plain["wrapped"] |= {"text_wrap": True}
    totals = {f"{name} total": made | {"bold": True, "top": 1} for name, made in plain.items()}
    heads = {
        "title": {"bold": True, "font_size": 14},
        "note": {"italic": True},
        "head": {"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 1},
    }
    return {name: book.add_format(made) for name, made in (plain | totals | heads).items()}


def _set_up(page: "Worksheet", sheet: Sheet, run: "Run") -> None:
    """Paper, margins, repeated and frozen header, footer with page and stamp."""
    page.set_landscape()
    page.set_paper(PAPER_NUMBERS[run.paper])
    page.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.7)
    page.fit_to_pages(1, 0)
    page.repeat_rows(HEAD_ROW)
    page.set_row(HEAD_ROW, HEAD_HEIGHT)
    page.freeze_panes(HEAD_ROW + 1, 1)
    page.set_footer(f"&L{sheet.name}&CPage &P of &N&RSources of {run.stamp[:10]}")
    for number, column in enumerate(sheet.columns):
        page.set_column(number, number, column.width)


def _set_heights(page: "Worksheet", sheet: Sheet, rows: list[dict[str, Any]]) -> None:
    """Height of the rows with wrapped text: not every program fits it by itself."""
    wrapped = [column for column in sheet.columns if column.style == "wrapped"]
    for line, row in enumerate(rows, HEAD_ROW + 1):
        lines = [math.ceil(1.1 * len(row[c.column] or "") / c.width) for c in wrapped]
        if max(lines, default=1) > 1:
            page.set_row(line, LINE_HEIGHT * max(lines))


def _head(page: "Worksheet", sheet: Sheet, formats: "dict[str, Format]", title: str) -> None:
    """Title, note and headings."""
    page.write_string(TITLE_ROW, 0, f"{sheet.name}: {title}", formats["title"])
    page.write_string(NOTE_ROW, 0, sheet.note, formats["note"])
    for number, column in enumerate(sheet.columns):
        page.write_string(HEAD_ROW, number, column.heading, formats["head"])


def _fill(
    page: "Worksheet", sheet: Sheet, rows: list[dict[str, Any]], formats: "dict[str, Format]"
) -> None:
    """Cells of the rows, a filter over them."""
    for number, column in enumerate(sheet.columns):
        style = formats[column.style]
        for line, row in enumerate(rows, HEAD_ROW + 1):
            value = row[column.column]
            if column.product_of:
                page.write_formula(line, number, _product(sheet, column, line), style, value or "")
            elif value is None:
                page.write_blank(line, number, None, style)
            elif column.style == "flag":
                page.write_string(line, number, "yes" if value else "", style)
            elif column.style == "date":
                page.write_datetime(line, number, value.to_pydatetime(), style)
            elif NUMBER_FORMATS[column.style] == "@":
                page.write_string(line, number, str(value), style)
            else:
                page.write_number(line, number, float(value), style)
    page.autofilter(HEAD_ROW, 0, HEAD_ROW + len(rows), len(sheet.columns) - 1)


def _product(sheet: Sheet, column: SheetColumn, line: int) -> str:
    """Formula of two cells of the same row; empty while one of them is."""
    from xlsxwriter.utility import xl_rowcol_to_cell

    names = [c.column for c in sheet.columns]
    first, second = (xl_rowcol_to_cell(line, names.index(n)) for n in column.product_of or ())
    return f'=IF(COUNT({first},{second})=2,{first}*{second},"")'


def _add_up(
    page: "Worksheet", sheet: Sheet, rows: list[dict[str, Any]], formats: "dict[str, Format]"
) -> None:
    """Totals below the rows, as formulas with their value; they say when a row is left out."""
    from xlsxwriter.utility import xl_range

    if not any(column.total for column in sheet.columns):
        return
    last = HEAD_ROW + len(rows)
    unknown = any(row[c.column] is None for row in rows for c in sheet.columns if c.total)
    label = "Total of what is known" if unknown else "Total"
    page.write_string(last + 1, 0, label, formats["text total"])
    for number, column in enumerate(sheet.columns):
        if column.total:
            cells = xl_range(HEAD_ROW + 1, number, last, number)
            value = sum(row[column.column] or 0.0 for row in rows)
            style = formats[f"{column.style} total"]
            page.write_formula(last + 1, number, f"=SUM({cells})", style, value)
        elif number:
            page.write_blank(last + 1, number, None, formats["text total"])
