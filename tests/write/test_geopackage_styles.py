"""Symbols of the layers: each row of a layer gets the color that report and packet give it.

The rules of an SLD file are read as the standard says (OGC 06-121r3, Filter Encoding, through
05-077r4, Symbology Encoding 1.1): a rule draws the rows that its filter lets through.
"""

import math
from xml.etree import ElementTree

import pytest

from pipeline.catalog import LAYERS
from pipeline.pages import palette
from pipeline.write.geopackage_styles import layer_styles, qml, sld

SCALE = palette.change_scale([-0.3, 0.3], noise_floor=0.02)
STYLES = layer_styles(SCALE)
SE = "{http://www.opengis.net/se}"
OGC = "{http://www.opengis.net/ogc}"


def passes(test, row):
    """Whether a filter lets a row through."""
    name = test.tag.removeprefix(OGC)
    if name == "Filter":
        return passes(test[0], row)
    if name in ("And", "Or"):
        return (all if name == "And" else any)(passes(part, row) for part in test)
    value = row.get(test.findtext(f"{OGC}PropertyName"))
    if name == "PropertyIsNull":
        return value is None
    if value is None:
        return False
    literal = test.findtext(f"{OGC}Literal")
    if name == "PropertyIsEqualTo":
        return value == literal
    compared = {
        "PropertyIsGreaterThan": value > float(literal),
        "PropertyIsLessThanOrEqualTo": value <= float(literal),
        "PropertyIsLessThan": value < float(literal),
    }
    return compared[name]


def fill_of(layer, row):
    """Color and opacity by which a row is filled; a row is drawn by one rule at the most."""
    found = []
    for rule in ElementTree.fromstring(sld(layer, STYLES[layer])).iter(f"{SE}Rule"):
        test = rule.find(f"{OGC}Filter")
        if test is None or passes(test, row):
            fill = {p.get("name"): p.text for p in rule.findall(f".//{SE}Fill/{SE}SvgParameter")}
            found.append((fill.get("fill"), fill.get("fill-opacity")))
    assert len(found) < 2
    return found[0] if found else None


def symbol_of(layer, value):
    """Properties of the QGIS symbol that a value is drawn by."""
    renderer = ElementTree.fromstring(qml(layer, STYLES[layer])).find("renderer-v2")
    symbols = {symbol.get("name"): symbol for symbol in renderer.iter("symbol")}
    for part in renderer.iter("range"):
        if float(part.get("lower")) < value <= float(part.get("upper")):
            return {p.get("k"): p.get("v") for p in symbols[part.get("symbol")].iter("prop")}
    raise AssertionError(value)


@pytest.mark.parametrize("change", [-0.5, -0.15, -0.05, -0.019, 0.0, 0.02, 0.021, 0.15, 0.5])
def test_greenness_is_drawn_by_the_change_against_the_unburned_units(change):
    row = {"change": -change, "change_vs_reference": change}
    expected = SCALE.color(change)
    assert fill_of("greenness", row) == (expected, "1")
    drawn = symbol_of("greenness", change)["color"]
    assert drawn == ",".join(str(int(expected[n : n + 2], 16)) for n in (1, 3, 5)) + ",255"
    assert fill_of("greenness", {"change": 0.3, "change_vs_reference": None}) is None
    assert 'attr="change_vs_reference"' in qml("greenness", STYLES["greenness"])


@pytest.mark.parametrize("years", [0, 1, 2, 3, 4, 5, 10, 11, 40])
def test_years_since_a_burn_have_the_color_of_their_class(years):
    for layer in ("history", "fire_history"):
        assert fill_of(layer, {"years_since_burn": years}) == (palette.years_color(years), "1")


def test_ground_without_a_burn_on_record_is_drawn_like_ground_that_burned_long_ago():
    assert fill_of("history", {"years_since_burn": None}) == (palette.years_color(500), "1")
    assert "coalesce(years_since_burn, 1000)" in qml("history", STYLES["history"])
    assert symbol_of("history", 1000)["color"] == symbol_of("history", 500)["color"]


@pytest.mark.parametrize("carries", palette.CARRIES_COLORS)
def test_fuel_is_hatched_only_where_it_is_unknown(carries):
    color, opacity = fill_of("fuel", {"carries": carries})
    assert color == palette.CARRIES_COLORS[carries]
    assert (float(opacity) < 1) == (carries == "unknown")
    look = next(look for look in STYLES["fuel"].looks if look.value == carries)
    assert look.hatch == (carries == "unknown")


@pytest.mark.parametrize("status", palette.BREAK_STROKES)
def test_breaks_have_the_stroke_of_their_status(status):
    rules = ElementTree.fromstring(sld("firebreaks", STYLES["firebreaks"])).iter(f"{SE}Rule")
    strokes = [
        {p.get("name"): p.text for p in rule.iter(f"{SE}SvgParameter")}
        for rule in rules
        if passes(rule.find(f"{OGC}Filter"), {"status": status})
    ]
    expected = palette.BREAK_STROKES[status]
    assert [stroke["stroke"] for stroke in strokes] == [expected.color]
    assert math.isclose(float(strokes[0]["stroke-width"]), expected.width)
    assert strokes[0].get("stroke-dasharray", "") == expected.dash


@pytest.mark.parametrize("layer", ["conflicts", "tasks"])
def test_a_conflict_or_task_has_a_symbol_for_ground_line_and_place(layer):
    """A viewer draws no line by the symbol of an area: seen in QGIS 3.22, which leaves it out."""
    renderer = ElementTree.fromstring(qml(layer, STYLES[layer])).find("renderer-v2")
    kinds = {symbol.get("name"): symbol.get("type") for symbol in renderer.iter("symbol")}
    by_test = {}
    for rule in renderer.iter("rule"):
        by_test.setdefault(rule.get("filter"), []).append(kinds[rule.get("symbol")])
    assert all(sorted(drawn) == ["fill", "line", "marker"] for drawn in by_test.values())
    serious = LAYERS["conflicts"].column("seriousness").choices
    tests = [f"seriousness = '{code}'" for code in serious] if layer == "conflicts" else [""]
    assert list(by_test) == tests


@pytest.mark.parametrize(("layer", "column"), [("planned_work", "kind"), ("conflicts", None)])
def test_the_season_s_work_is_told_apart_by_pattern_too(layer, column):
    style = STYLES[layer]
    brushes = [look.brush for look in style.looks]
    assert len(set(brushes)) == len(brushes)
    assert {look.value for look in style.looks} == set(
        LAYERS[layer].column(column or "seriousness").choices
    )
    if layer == "conflicts":
        widths = [look.stroke.width for look in style.looks]
        assert widths == sorted(widths, reverse=True), "the heavier the more serious"


def test_each_kind_of_conflict_is_drawn_by_one_rule():
    for code in LAYERS["conflicts"].column("seriousness").choices:
        assert fill_of("conflicts", {"seriousness": code}) is not None
    root = ElementTree.fromstring(sld("tasks", STYLES["tasks"]))
    assert root.find(f".//{SE}LineSymbolizer") is not None
