"""The report: the figures of the layers, findings first, harmless whatever a name holds.

Outside sources: W3C Content Security Policy Level 3 (checksums in script-src, 2.3.1), Python's own
HTML parser. The figures are those of the layers themselves.
"""

import base64
import hashlib
import re
from html.parser import HTMLParser

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.ground.geometry import area_ac
from pipeline.pages.report_page import burnable_words, cost_words
from pipeline.pages.words import figure_words, number_words, plain
from tests.made_plan import with_work
from tests.made_report import grid_layers, report, unpacked

HOSTILE = (
    "</script><script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    '=HYPERLINK("http://a.example","b")',
    "\u202eمرج \u05d0\u05d7\u05d5",
    "a' onclick='alert(1)",
    "{{7*7}} & <b>bold</b>",
)


class Elements(HTMLParser):
    """Names and attributes of all elements, and the text of the page."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.found, self.words = [], []
        self.feed(page)

    def handle_starttag(self, name, attrs):
        self.found.append((name, dict(attrs)))

    def handle_data(self, data):
        self.words.append(data)


@pytest.fixture(scope="module")
def sample_page(sample_layers):
    return report(*sample_layers)


def test_it_asks_for_nothing_from_outside(sample_page):
    read = Elements(unpacked(sample_page))
    loading = {"src", "srcset", "action", "formaction", "poster", "data", "background", "ping"}
    for name, attributes in read.found:
        inside = name == "img" and attributes["src"].startswith("data:image/jpeg;base64,")
        assert not loading - ({"src"} if inside else set()) & set(attributes), name
        assert name not in {"link", "iframe", "object", "embed", "base", "image"}
        assert attributes.get("href", "#").startswith("#")
        assert not any(key.startswith("on") or key == "style" for key in attributes)
    assert "url(#" in sample_page
    assert not re.search(r"url\((?!#)|@import|https?:", sample_page.replace("&quot;", '"'))


def test_policy_allows_this_script_and_style_and_nothing_else(sample_page):
    heads = {a.get("http-equiv"): a for name, a in Elements(sample_page).found if name == "meta"}
    policy = heads["Content-Security-Policy"]["content"]
    for element in ("script", "style"):
        (inside,) = re.findall(rf"<{element}>(.*?)</{element}>", sample_page, re.DOTALL)
        checksum = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"{element}-src 'sha256-{checksum}'" in policy
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy


def test_findings_and_cautions_stand_before_the_map(sample_page, sample_layers):
    caution, findings, drawing = map(
        sample_page.index, ("no permission to ignite", 'id="findings"', 'id="map"')
    )
    assert caution < findings < drawing
    words = "".join(Elements(sample_page).words)
    frames, _ = sample_layers
    assert all(message in words for message in frames["findings"]["message"])


def test_tables_have_the_figures_of_the_layers(sample_page, sample_layers):
    frames, _ = sample_layers
    words = " ".join(Elements(sample_page).words)
    for acres in frames["units"]["gross_ac"]:
        assert number_words(acres, 1) in words
    for change in frames["greenness"]["change_vs_reference"].dropna():
        assert number_words(change, 3, signed=True) in words
    for checksum in frames["sources"]["sha256"]:
        assert checksum in words
    assert number_words(frames["seed_order"]["cost_usd"].sum(), 2) in words
    assert "Larkspindle Prairie" in words


def test_card_of_a_unit_that_burned_in_part_tells_the_share(sample_page, sample_layers):
    history = sample_layers[0]["history"].set_index("unit_id")
    share = history.loc["P4", "burned_share_pct"]
    assert 0 < share < 100, "the fire died out on its east side"
    words = " ".join(Elements(unpacked(sample_page)).words)
    said = figure_words(share, LAYERS["history"].column("burned_share_pct"))
    assert f"2026-04-14, {said} of the unit that year" in words
    assert history.loc["P2", "burned_share_pct"] == 100
    assert words.count("% of the unit that year") == (history["burned_share_pct"] < 99.5).sum()


def test_same_layers_give_the_same_bytes(sample_page, sample_layers):
    assert report(*sample_layers) == sample_page


def test_what_is_not_there_leaves_its_section_out():
    frames, crs = grid_layers(2, scenes=0)
    frames["greenness"] = frames["greenness"].iloc[:0]
    page = report(frames, crs)
    there = set(re.findall(r'<section id="([\w-]+)"', page))
    assert there == {"findings", "map-section", "units", "provenance"}
    assert "No warnings" in page


def test_a_hostile_name_is_only_text(sample_layers, sample_page):
    frames, crs = sample_layers
    hostile = " ".join(HOSTILE)
    spoiled = {name: _spoiled(name, frame, hostile) for name, frame in frames.items()}
    read = Elements(unpacked(report(spoiled, crs)))
    calm = Elements(unpacked(sample_page))
    assert {name for name, _ in read.found} <= {name for name, _ in calm.found}
    assert sum(name == "script" for name, _ in read.found) == 1
    assert not any(key.startswith("on") for _, told in read.found for key in told)
    assert plain(hostile) in "".join(read.words)


def _spoiled(name, frame, hostile):
    """The frame with the hostile text in front of every free text."""
    free = [c.name for c in LAYERS[name].columns if c.kind == "text" and not c.choices]
    changed = {
        c: frame[c].map(lambda text: text if pd.isna(text) else f"{hostile} {text}")
        for c in free
        if c not in ("section", "setting", "color")
    }
    return frame.assign(**changed)


def test_three_hundred_units_with_work_stay_under_one_and_a_half_megabytes():
    frames, crs = grid_layers(300)
    page = report(with_work(frames, crs, counts=(40, 60, 50), days=tuple(range(-160, 240))), crs)
    assert len(page.encode()) < 1_500_000
    whole = unpacked(page)
    assert whole.count('class="unit"') == 300
    assert whole.count("<figure>") == 300 + 2, "a chart of each unit, and the two of the burn"
    assert len(whole.encode()) > 1_500_000


def test_what_has_no_price_is_counted_beside_the_cost(sample_page, sample_layers):
    order = sample_layers[0]["seed_order"]
    unpriced = (order["cost_usd"].isna() & (order["bulk_to_order_lb"] > 0)).sum()
    assert unpriced == 2, "oats and rice hulls of the sample have no price"
    assert f"${number_words(order['cost_usd'].sum(), 0)} and 2 without a price" in sample_page


def test_seed_of_unknown_bulk_is_counted_as_without_a_price():
    order = pd.DataFrame(
        {
            "cost_usd": [None, None, 0.0],
            "pls_to_order_lb": [158.5, None, 0.0],
            "bulk_to_order_lb": [None, 1050.0, 0.0],
        },
        dtype=float,
    )
    assert cost_words(order) == "$0 and 2 without a price"
    assert cost_words(order.iloc[:2]) == "2 without a price"
    assert cost_words(order.iloc[2:]) == "$0"


def test_years_have_no_thousands_set_apart(sample_page):
    assert re.search(r">2026<", sample_page)
    assert not re.search(r">2,02\d<", sample_page)


def test_figures_at_the_head_are_sums_of_the_layers(sample_page, sample_layers):
    frames, _ = sample_layers
    breaks = frames["firebreaks"].groupby("status")["length_ft"].sum()
    pairs = re.findall(r"<dt>([^<]+)<dd>([^<]+)</div>", sample_page)
    figures = {term: float(re.sub(r"[^\d.]", "", words)) for term, words in pairs[:10]}
    assert figures["Units"] == len(frames["units"])
    # C1 and P6 of the sample overlap: the sum of the units is not the ground.
    summed = frames["units"]["gross_ac"].sum()
    ground = np.sum(area_ac(gpd.GeoSeries([frames["units"].union_all()], crs=frames["units"].crs)))
    assert figures["Units summed"] == pytest.approx(summed, abs=0.05)
    assert figures["Ground covered"] == pytest.approx(ground, abs=0.05)
    assert figures["Counted twice"] == pytest.approx(summed - ground, abs=0.05)
    assert "Gross" not in figures
    burnable = frames["burn_blocks"]["burnable_ac"].sum()
    assert figures["Burnable in blocks"] == pytest.approx(burnable, abs=0.05)
    assert figures["Break to prepare"] == pytest.approx(breaks["prepare"], abs=0.5)
    assert figures["Gaps to close"] == pytest.approx(breaks["gap"], abs=0.5)
    assert breaks["gap"] != pytest.approx(breaks["prepare"], abs=1)
    assert figures["Mowing"] == pytest.approx(frames["mow_strips"]["hours"].sum(), abs=0.05)


@pytest.mark.parametrize(
    ("acres", "words"),
    [
        ([40.0, 2.5], "42.5 ac"),
        ([40.0, np.nan], "40.0 ac; 1 block is refused and not in it"),
        ([40.0, np.nan, np.nan], "40.0 ac; 2 blocks are refused and not in it"),
        ([np.nan], "not told: 1 block is refused, see the findings"),
    ],
)
def test_refused_blocks_are_said_to_be_missing_from_the_acres(acres, words):
    assert burnable_words(pd.DataFrame({"burnable_ac": acres})) == words
