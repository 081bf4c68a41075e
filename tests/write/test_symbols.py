"""The table of symbols in every language: a row looks alike in the report and in other programs.

The rules of an SLD file are read as the standard says (OGC 06-121r3, Filter Encoding, through
05-077r4, Symbology Encoding 1.1): a rule draws the rows that its filter lets through. Those of a
QML file are put to SQLite, whose comparisons are those of QGIS.
"""

import math
import sqlite3
from contextlib import closing
from dataclasses import replace
from xml.etree import ElementTree

import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.pages import palette
from pipeline.pages.symbols.layer_symbols import (
    change_style,
    comparison_scale,
    greenness_styles,
    layer_styles,
    years_style,
)
from pipeline.pages.symbols.looks import OPEN_END
from pipeline.pages.symbols.textures import textures
from pipeline.write.qml import BRUSHES, expression, qml
from pipeline.write.sld import sld

SCALE = palette.change_scale([-0.3, 0.3], noise_floor=0.02)
STYLES = layer_styles(SCALE)
SE = "{http://www.opengis.net/se}"
OGC = "{http://www.opengis.net/ogc}"


@pytest.fixture
def package(sample_package):
    return sample_package


def passes(test, row):
    """Whether a filter lets a row through."""
    name = test.tag.removeprefix(OGC)
    if name == "Filter":
        return passes(test[0], row)
    if name in ("And", "Or"):
        return (all if name == "And" else any)(passes(part, row) for part in test)
    value = row[test.findtext(f"{OGC}PropertyName")]
    if name == "PropertyIsNull":
        return value is None
    if value is None:
        return False
    literal = test.findtext(f"{OGC}Literal")
    if name == "PropertyIsEqualTo":
        return value == literal
    compared = {
        "PropertyIsGreaterThan": lambda: value > float(literal),
        "PropertyIsLessThanOrEqualTo": lambda: value <= float(literal),
    }
    return compared[name]()


def rules(layer):
    """Rules of a layer's SLD that draw something, a rule of labels apart."""
    found = ElementTree.fromstring(sld(layer, STYLES[layer])).iter(f"{SE}Rule")
    return [rule for rule in found if rule.find(f"{SE}TextSymbolizer") is None]


def drawn_by(layer, row):
    """Words of the rules that draw a row."""
    return [
        rule.findtext(f"{SE}Name")
        for rule in rules(layer)
        if (test := rule.find(f"{OGC}Filter")) is None or passes(test, row)
    ]


NOT_OF_THE_SAMPLE = {"mended", "plan_years"}
"""Its outlines are whole, none had to be mended; the plan of years is a command of its own."""


@pytest.mark.parametrize("layer", [name for name in STYLES if name not in NOT_OF_THE_SAMPLE])
def test_every_row_of_the_sample_has_one_look_and_it_is_the_same_in_every_language(package, layer):
    style = STYLES[layer]
    with closing(sqlite3.connect(package)) as database:
        database.row_factory = sqlite3.Row
        there = database.execute("SELECT 1 FROM gpkg_contents WHERE table_name=?", (layer,))
        if there.fetchone() is None:
            pytest.fail(f"the sample has no {layer}")
        rows = [dict(row) for row in database.execute(f'SELECT * FROM "{layer}"')]
        by_sql = {fid: [] for fid in (row["fid"] for row in rows)}
        for look in style.looks:
            where = expression((*style.only, *look.tests)) or "1"
            for (fid,) in database.execute(f'SELECT fid FROM "{layer}" WHERE {where}'):
                by_sql[fid].append(look.words)
    for row in rows:
        looks = (style.look(row), *style.over(row)) if style.draws(row) else ()
        told = [look.words for look in looks]
        assert by_sql[row["fid"]] == told
        assert drawn_by(layer, row) == told


@pytest.mark.parametrize("layer", STYLES)
def test_styles_speak_of_declared_columns_and_of_all_their_choices(layer):
    declared = LAYERS[layer]
    assert declared.geometry is not None
    assert not declared.internal
    style = STYLES[layer]
    if style.label:
        declared.column(style.label)
    named: dict[str, set[str]] = {}
    ends: dict[str, list[tuple[float, float]]] = {}
    for look in style.looks:
        for test in look.tests:
            declared.column(test.column)
            if not look.over and test.among:
                named.setdefault(test.column, set()).update(test.among)
            if not look.over and not test.among and not test.is_empty:
                ends.setdefault(test.column, []).append((test.above, test.up_to))
    for column, texts in named.items():
        assert texts == set(declared.column(column).choices)
    for classes in ends.values():
        assert [high for _, high in classes[:-1]] == [low for low, _ in classes[1:]]
        assert (classes[0][0], classes[-1][1]) == (-OPEN_END, OPEN_END)
    number = any(look.tests and look.tests[0].is_empty for look in style.looks)
    assert number or not ends, "a figure that may be missing has a look of its own"


@pytest.mark.parametrize("layer", STYLES)
def test_looks_of_a_layer_are_told_apart_without_color(layer):
    """A print in black and white has patterns, dashes, widths, marks, grays, or the figure."""
    style = STYLES[layer]
    looks = [look for look in style.looks if not look.tests or look.tests[0].column != style.label]
    told = {
        (
            BRUSHES.get(look.pattern),
            look.stroke.dash,
            look.stroke.width,
            look.mark,
            look.fill and sum(int(look.fill[n : n + 2], 16) for n in (1, 3, 5)) // 8,
        )
        for look in looks
    }
    assert len(told) == len(looks)


def test_each_pattern_has_lines_in_every_language():
    used = {look.pattern for style in STYLES.values() for look in style.looks if look.pattern}
    assert used <= set(BRUSHES)
    assert used <= set(palette.PATTERN_INKS)
    on_screen = str(textures(1.0))
    for pattern in ("doubt", "unjudged", "excluded", "seeded", "patched"):
        assert f'id="{pattern}"' in on_screen


@pytest.mark.parametrize("edge", SCALE.edges)
def test_an_edge_of_the_classes_of_change_belongs_to_the_class_nearer_to_zero(edge):
    style = change_style(SCALE)
    colors = [color for color, _ in SCALE.classes()]
    for change in (edge, math.nextafter(edge, 1)):
        row = {"change_vs_reference": change, "verdict": "greener"}
        more = colors.index(style.look(row).fill)
        less = colors.index(style.look(row | {"change_vs_reference": -change}).fill)
        assert more == 6 - less, "both sides alike"
    inner = {"change_vs_reference": edge, "verdict": "greener"}
    outer = {"change_vs_reference": math.nextafter(edge, 1), "verdict": "greener"}
    assert colors.index(style.look(outer).fill) == colors.index(style.look(inner).fill) + 1


def test_a_unit_that_cannot_be_judged_has_no_color_of_a_change_and_doubt_lies_over_it():
    style = change_style(SCALE)
    unjudged = {"change_vs_reference": None, "verdict": "cannot_judge", "change": 0.3}
    assert style.look(unjudged).fill == palette.UNKNOWN
    assert style.over(unjudged) == []
    doubtful = {"change_vs_reference": 0.2, "verdict": "confounded", "change": -0.3}
    assert style.look(doubtful).fill == palette.MORE_GREEN[1]
    assert [look.pattern for look in style.over(doubtful)] == ["doubt"]
    assert style.over(doubtful | {"verdict": "greener"}) == []


def test_ground_without_a_burn_on_record_is_not_drawn_as_burned_long_ago():
    never = years_style().look({"years_since_burn": None})
    long_ago = years_style().look({"years_since_burn": 40.0})
    assert never.fill != long_ago.fill
    assert never.pattern == "unjudged"
    in_part = {"years_since_burn": 1.0, "burned_share_pct": 40.0}
    assert [look.words for look in STYLES["history"].over(in_part)] == ["burned in part"]
    assert STYLES["history"].over(in_part | {"burned_share_pct": 100.0}) == []


@pytest.mark.parametrize("layer", [name for name, style in STYLES.items() if style.kind == "any"])
def test_shapes_of_any_kind_have_a_symbol_for_ground_line_and_place(layer):
    """A viewer draws no line by the symbol of an area: seen in QGIS 3.22, which leaves it out."""
    renderer = ElementTree.fromstring(qml(LAYERS[layer], STYLES[layer])).find("renderer-v2")
    kinds = {symbol.get("name"): symbol.get("type") for symbol in renderer.iter("symbol")}
    by_test = {}
    for rule in renderer.findall(".//rule"):
        by_test.setdefault(rule.get("filter"), []).append(kinds[rule.get("symbol")])
    assert all(sorted(drawn) == ["fill", "line", "marker"] for drawn in by_test.values())
    assert len(by_test) == len(STYLES[layer].looks)


@pytest.mark.parametrize("status", palette.BREAK_STROKES)
def test_breaks_have_the_stroke_of_their_status(status):
    strokes = [
        {p.get("name"): p.text for p in rule.iter(f"{SE}SvgParameter")}
        for rule in rules("firebreaks")
        if passes(rule.find(f"{OGC}Filter"), {"status": status})
    ]
    expected = palette.BREAK_STROKES[status]
    assert [stroke["stroke"] for stroke in strokes] == [expected.color]
    assert math.isclose(float(strokes[0]["stroke-width"]), expected.width)
    assert strokes[0].get("stroke-dasharray", "") == expected.dash


def test_names_are_written_on_the_rows():
    root = ElementTree.fromstring(qml(LAYERS["units"], STYLES["units"]))
    assert root.get("labelsEnabled") == "1"
    assert root.find(".//text-style").get("fieldName") == '"name"'
    figures = ElementTree.fromstring(qml(LAYERS["greenness"], STYLES["greenness"])).find(
        ".//text-style"
    )
    assert 'format_number("change_vs_reference", 3)' in figures.get("fieldName")
    assert "'+'" in figures.get("fieldName"), "the sign tells loss from gain without color"
    label = ElementTree.fromstring(sld("units", STYLES["units"])).find(f".//{SE}Label")
    assert label.findtext(f"{OGC}PropertyName") == "name"
    unnamed = replace(STYLES["units"], label="")
    assert ElementTree.fromstring(qml(LAYERS["units"], unnamed)).get("labelsEnabled") == "0"


def test_a_conflict_is_the_heavier_the_more_serious():
    widths = [look.stroke.width for look in STYLES["conflicts"].looks]
    assert widths == sorted(widths, reverse=True)


def test_every_layer_with_a_place_has_symbols_and_names():
    placed = {name for name, layer in LAYERS.items() if layer.geometry and not layer.internal}
    assert placed == set(STYLES)
    assert all(style.label for style in STYLES.values())


def test_each_comparison_has_a_style_of_its_own_in_the_classes_of_the_report():
    """Two burns of one property: rows of the other one are neither drawn nor named."""
    columns = ["comparison", "after", "change_vs_reference", "noise_floor", "verdict"]
    rows = [
        ("Old burn", "2024-07-20", 0.30, 0.02, "greener"),
        ("New 'burn'", "2026-07-20", 0.06, 0.02, "greener"),
    ]
    greenness = pd.DataFrame(rows, columns=columns)
    styles = greenness_styles(greenness)
    assert list(styles) == ["New 'burn'", "Old burn"], "the newest is drawn by itself"
    for name, style in styles.items():
        told = greenness[greenness["comparison"] == name]
        # A test without bounds has NaN in their place, which is never equal to itself.
        assert repr(style.looks) == repr(change_style(comparison_scale(told)).looks)
        drawn = [row["comparison"] for row in greenness.to_dict("records") if style.draws(row)]
        assert drawn == [name]
        with closing(sqlite3.connect(":memory:")) as database:
            greenness.to_sql("greenness", database)
            where = expression(style.only)
            found = database.execute(f"SELECT comparison FROM greenness WHERE {where}").fetchall()
        assert found == [(name,)]
        label = ElementTree.fromstring(qml(LAYERS["greenness"], style)).find(".//text-style")
        assert label.get("fieldName").startswith("CASE WHEN")
        filters = {
            test.tag for test in ElementTree.fromstring(sld("greenness", style)).iter(f"{OGC}And")
        }
        assert filters


def test_codes_are_shown_in_words_in_forms_and_tables():
    fields = ElementTree.fromstring(qml(LAYERS["fuel"], STYLES["fuel"])).find("fieldConfiguration")
    words = {o.get("value"): o.get("name") for o in fields.iter("Option") if o.get("value")}
    assert set(LAYERS["fuel"].column("carries").choices) <= set(words)
