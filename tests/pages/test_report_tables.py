"""Every table of the report, cell by cell against the layers.

What should stand in a cell is worked out here from the heading, sign of the unit and places that
the column declares, by Python's decimal arithmetic. ``MEANT`` writes down once more which figure a
reader expects under a heading, so that two headings exchanged in a declaration are noticed.
"""

from decimal import ROUND_HALF_UP, Decimal

import pandas as pd
import pytest
from lxml import html

from pipeline.catalog import LAYERS
from pipeline.core.layer import Column, Layer
from pipeline.core.table import Table
from pipeline.pages import records_section, report_sections, section_parts
from pipeline.pages.greenness import burn_table
from pipeline.pages.report_tables import draw_table
from pipeline.pages.words import CODE_WORDS
from tests.made_report import report

MEANT = {
    "units": {
        "Gross": "gross_ac",
        "Not to burn": "no_burn_ac",
        "Burnable": "burnable_ac",
        "Not to seed": "no_seed_ac",
        "Seedable": "seedable_ac",
    },
    "burn_blocks": {
        "Units summed": "units_ac",
        "Counted twice": "overlap_ac",
        "Ground covered": "gross_ac",
        "Excluded": "excluded_ac",
        "Burnable": "burnable_ac",
        "To prepare": "prepare_ft",
        "Gaps": "gap_ft",
        "Shared with a neighbor block": "shared_ft",
    },
    "firebreaks": {
        "Length": "length_ft",
        "Bare or wet": "bare_ft",
        "Mown": "mown_ft",
        "Blackline": "blackline_ft",
        "Rule asks": "required_ft",
        "Short by": "short_ft",
    },
    "mow_strips": {"Width": "width_ft", "Area": "area_ac", "Passes": "passes"},
    "fuel": {
        "Load before winter": "fall_load_lb_ac",
        "Spring, low": "spring_load_low_lb_ac",
        "Spring, likely": "spring_load_lb_ac",
        "Spring, high": "spring_load_high_lb_ac",
    },
    "history": {
        "Years since the last burn": "years_since_burn",
        "Share burned in the year of the last burn": "burned_share_pct",
        "Share with no burn on record": "never_burned_pct",
        "Burns in 10 years": "burns_in_10_years",
        "Seasons of rest": "rested_seasons",
    },
    "greenness": {
        "Mean before": "before_mean",
        "Mean after": "after_mean",
        "Change": "change",
        "Beyond the unburned units": "change_vs_reference",
        "Interval from": "interval_low",
        "Reference units": "references",
    },
    "cool_season": {"Early": "early", "Late": "late", "Cool-season index": "cool_index"},
    "cool_season_changes": {"Index before": "before_index", "Index after": "after_index"},
    "seed_areas": {"Net": "net_ac", "Bulk": "bulk_lb"},
    "community": {"Native": "native_share_pct", "Cool-season exotics": "cool_exotic_share_pct"},
    "plant_groups": {"Cover": "cover_pct", "Cover, from": "cover_low_pct"},
    "plant_cover": {"Cover": "cover_pct", "Frequency": "frequency_pct"},
    "plant_changes": {
        "Cover then": "before_cover_pct",
        "Cover now": "after_cover_pct",
        "Change": "change_pct",
        "From": "change_low_pct",
        "To": "change_high_pct",
    },
    "patch_years": {"Area": "area_ac", "Change": "change_ac", "Growth": "growth_pct"},
    "patch_ground": {"To the edge": "edge_ft", "To water": "water_ft", "Of the unit": "share_pct"},
    "herd_balance": {"Demand": "demand_aum", "Supply": "supply_aum"},
    "forage": {"Growth": "production_lb_ac", "Supply": "supply_aum", "Used": "used_aum"},
    "sources": {"Rows read": "rows_read", "Rows used": "rows_used"},
}


COMPASS = ("bearing_deg", "aspect_deg", "compass_deg")


def said(value, column):
    """What a cell should read as."""
    if pd.isna(value):
        return "–"
    if column.kind == "date":
        return f"{value:%Y-%m-%d}"
    if column.kind == "flag":
        return "yes" if value else "no"
    if column.kind == "text":
        return CODE_WORDS.get(value, value.replace("_", " ")) if column.choices else value
    if column.name.endswith("_from_deg") or column.name in COMPASS:
        points = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"]
        return f"{rounded(value, 0) % 360:f} ({points[int((value + 22.5) // 45) % 8]})"
    if column.kind == "integer" and column.places is None:
        return str(value)
    number = rounded(value, column.places)
    sign = "−" if number < 0 else "+" if column.signed and number > 0 else ""
    return f"{sign}{abs(number):,f}"


def rounded(value, places):
    return Decimal(str(value)).quantize(Decimal(10) ** -places, ROUND_HALF_UP)


def spoken(element):
    return " ".join("".join(element.itertext()).split())


class Printed:
    """A table of the page: headings with their units, rows, sums and what stands below each row."""

    def __init__(self, element):
        self.title = spoken(element.find("caption"))
        heads = element.findall("thead/tr/th")
        self.units = [spoken(h.find("small")) if h.find("small") is not None else "" for h in heads]
        self.headings = [
            spoken(head).removesuffix(unit).strip()
            for head, unit in zip(heads, self.units, strict=True)
        ]
        self.rows, self.below = [], []
        for row in element.findall("tbody/tr"):
            if row.get("class") == "under":
                self.below[-1] = [spoken(line) for line in row.iter("p")]
            else:
                self.rows.append([spoken(cell) for cell in row])
                self.below.append([])
        self.sums = [spoken(cell) for cell in element.iterfind("tfoot/tr/*")]

    def under(self, heading):
        """Cells under a heading, None where it is not printed."""
        if heading not in self.headings:
            return None
        place = self.headings.index(heading)
        return [row[place] for row in self.rows]


@pytest.fixture(scope="module")
def drawn(sample_layers):
    """Tables that the report of the sample asked for, with their rows, and what was printed."""
    asked = []

    def noted(table, rows, **options):
        if len(rows):
            asked.append((table, rows))
        return draw_table(table, rows, **options)

    with pytest.MonkeyPatch.context() as patch:
        for module in (report_sections, section_parts, records_section, burn_table):
            patch.setattr(module, "draw_table", noted)
        page = html.fromstring(report(*sample_layers).encode())
    printed = {table.title: table for table in map(Printed, page.iter("table"))}
    assert len(printed) == len(asked) == len(list(page.iter("table")))
    return [(table, rows, printed[table.title]) for table, rows in asked]


def test_headings_and_cells_are_those_of_the_declarations(drawn):
    for table, rows, printed in drawn:
        first, *others = table.declared
        columns = [first, *(c for c in others if rows[c.name].notna().any())]
        for column in columns:
            assert column.heading, f"{table.title}: {column.name} has no heading"
            if column.kind == "number":
                assert column.places is not None, f"{table.title}: {column.name} has no places"
        assert printed.headings == [column.heading for column in columns], table.title
        assert printed.units == [column.symbol for column in columns], table.title
        assert len(printed.rows) == len(rows)
        for cells, (_, row) in zip(printed.rows, rows.iterrows(), strict=True):
            assert cells == [said(row[c.name], c) for c in columns], table.title


def test_under_each_heading_stands_the_figure_that_a_reader_expects(drawn, sample_layers):
    frames = sample_layers[0]
    checked = set()
    for table, rows, printed in drawn:
        layer = table.layer.name
        for heading, name in MEANT.get(layer, {}).items():
            cells = printed.under(heading)
            if cells is None or len(cells) != len(frames[layer]):
                continue
            column = table.layer.column(name)
            assert cells == [said(value, column) for value in rows[name]], heading
            checked.add((layer, heading))
    expected = {
        (layer, heading)
        for layer, meant in MEANT.items()
        for heading, name in meant.items()
        if frames[layer][name].notna().any()
    }
    assert checked == expected


def test_sums_are_of_unrounded_figures(drawn):
    summed = 0
    for table, rows, printed in drawn:
        if len(rows) < 2 or not table.totals:
            assert printed.sums == [], table.title
            continue
        unknown = rows[list(table.totals)].isna().any(axis=None)
        assert printed.sums[0] == ("Sum of what is known" if unknown else "Sum")
        columns = [c for c in table.declared if rows[c.name].notna().any()]
        for cell, column in zip(printed.sums[1:], columns[1:], strict=True):
            if column.name in table.totals:
                total = sum(Decimal(str(value)) for value in rows[column.name].dropna())
                assert cell == said(total, column), f"{table.title}: {column.name}"
                summed += 1
            else:
                assert cell == ""
    assert summed > 5


def test_sentences_stand_below_their_row(drawn):
    for table, rows, printed in drawn:
        columns = [table.layer.column(name) for name in table.below]
        for lines, (_, row) in zip(printed.below, rows.iterrows(), strict=True):
            expected = [
                f"{heading}: {row[name]}"
                for name, heading in table.sentences
                if pd.notna(row[name])
            ]
            expected += [
                f"{column.heading}: {said(row[column.name], column)}"
                for column in columns
                if pd.notna(row[column.name])
            ]
            assert lines == [" ".join(line.split()) for line in expected], table.title


def test_table_of_made_figures():
    # Three tenths of 0.05 are 0.15 as a sum, 0.2 rounded half up; as rounded figures 0.3.
    layer = Layer(
        "made",
        None,
        "",
        (
            Column("unit_id", "text", "", heading="Unit"),
            Column("gross_ac", "number", "", heading="Gross", places=1),
            Column("change", "number", "", heading="Change", places=2, signed=True),
            Column("empty_ft", "number", "", heading="Empty", places=0),
            Column("side", "text", "", heading="Side", choices=("down_wind",)),
            Column("why", "text", "", heading="Why"),
        ),
    )
    names = ("unit_id", "gross_ac", "change", "empty_ft", "side")
    table = Table(layer, "Made", names, totals=("gross_ac",), below=("why",), about="Made up.")
    rows = pd.DataFrame(
        {
            "unit_id": ["A", "B", "C"],
            "gross_ac": [0.05, 0.05, 0.05],
            "change": [0.125, -0.125, 0.001],
            "empty_ft": [None, None, None],
            "side": ["down_wind", None, "down_wind"],
            "why": ["because", None, None],
        }
    )
    page = html.fromstring(str(draw_table(table, rows, units={"A": 7})))
    printed = Printed(next(page.iter("table")))
    assert printed.headings == ["Unit", "Gross", "Change", "Side"]
    assert printed.units == ["", "ac", "", ""]
    assert printed.rows == [
        ["A", "0.1", "+0.13", "down wind"],
        ["B", "0.1", "−0.13", "–"],
        ["C", "0.1", "0.00", "down wind"],
    ]
    assert printed.below == [["Why: because"], [], []]
    assert printed.sums == ["Sum", "0.2", "", ""]
    assert [button.get("data-find") for button in page.iter("button")] == ["7"]
    assert str(draw_table(table, rows.iloc[:0])) == ""


@pytest.mark.parametrize("layer", [n for n, layer in LAYERS.items() if not layer.internal])
def test_headings_with_their_units_tell_the_columns_of_a_layer_apart(layer):
    columns = LAYERS[layer].columns
    headings = [(c.heading, c.symbol) for c in columns if c.heading]
    assert len(set(headings)) == len(headings)
