"""The card of a burn as a browser shows it, on a desk and on a phone.

Outside judges: Chromium's own boxes, and axe-core.
"""

from itertools import combinations

import pytest

from tests.made_report import grid_layers, report

DESK, PHONE = (1440, 900), (390, 844)


@pytest.fixture(scope="module")
def addresses(sample_layers, tmp_path_factory):
    """The sample's report, and one of forty burned units."""
    folder = tmp_path_factory.mktemp("cards")
    pages = {"sample": report(*sample_layers), "many": report(*grid_layers(40, scenes=6))}
    for name, page in pages.items():
        (folder / f"{name}.html").write_text(page, encoding="utf-8")
    return {name: (folder / f"{name}.html").as_uri() for name in pages}


@pytest.fixture(params=[DESK, PHONE], ids=["desk", "phone"])
def opened(browser, addresses, request):
    pages = []

    def opener(name):
        width, height = request.param
        page = browser.new_page(viewport={"width": width, "height": height})
        page.goto(addresses[name])
        # Of many units the sections are folded, and nothing in a fold is laid out.
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        page.locator(".burncard").first.wait_for()  # packed content is unpacked a moment later
        pages.append(page)
        return page

    yield opener
    for page in pages:
        page.close()


def boxes(chart):
    return [(label.text_content(), label.bounding_box()) for label in chart.locator("text").all()]


@pytest.mark.parametrize("name", ["sample", "many"])
def test_labels_of_a_chart_never_overlap_and_stay_inside(opened, name):
    page = opened(name)
    charts = page.locator(".burncard svg[role=img]").all()
    assert len(charts) == 2
    for chart in charts:
        frame, labels = chart.bounding_box(), boxes(chart)
        assert len(labels) > 5
        for text, box in labels:
            assert frame["x"] - 0.5 <= box["x"], text
            assert box["x"] + box["width"] <= frame["x"] + frame["width"] + 0.5, text
            assert frame["y"] - 0.5 <= box["y"], text
            assert box["y"] + box["height"] <= frame["y"] + frame["height"] + 0.5, text
        for (one, a), (other, b) in combinations(labels, 2):
            aside = a["x"] + a["width"] <= b["x"] or b["x"] + b["width"] <= a["x"]
            # A box is as high as the font, its letters are two thirds of that.
            spare = (a["height"] + b["height"]) / 6
            below = a["y"] + a["height"] - spare <= b["y"] or b["y"] + b["height"] - spare <= a["y"]
            assert aside or below, f"{one} over {other}"


@pytest.mark.parametrize("name", ["sample", "many"])
def test_nothing_of_a_card_runs_over_the_side(opened, name):
    page = opened(name)
    width = page.viewport_size["width"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    beyond = page.evaluate(
        """[...document.querySelectorAll('.burncard, .burncard *')].filter(e =>
        e.getClientRects().length && !e.closest('.wide') &&
        e.getBoundingClientRect().right > innerWidth + 1).length"""
    )
    assert beyond == 0


def test_letters_of_a_chart_are_large_enough_and_the_answer_comes_first(opened):
    page = opened("sample")
    sizes = page.evaluate(
        """[...document.querySelectorAll('.burncard svg[role=img] text')].map(t =>
        11 * t.ownerSVGElement.getBoundingClientRect().width /
        t.ownerSVGElement.viewBox.baseVal.width)"""
    )
    assert min(sizes) >= 10
    answer = page.locator(".burncard .answer").bounding_box()
    assert answer["y"] < page.locator(".burncard svg[role=img]").first.bounding_box()["y"]


def test_tables_of_a_card_are_reached_by_the_keyboard(opened):
    page = opened("sample")
    table = page.locator(".burncard .wide")
    table.focus()
    assert table.evaluate("e => e === document.activeElement")
    assert page.locator(".burncard .wide button.find").count() == 8


def test_the_accessibility_checker_finds_nothing(opened, axe):
    page = opened("sample")
    page.evaluate(axe)
    found = page.evaluate("axe.run({include: [['.burncard']]}, {resultTypes: ['violations']})")
    assert [(v["id"], v["nodes"][0]["html"]) for v in found["violations"]] == []
