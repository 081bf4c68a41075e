"""The report in a real browser: nothing fetched, no errors, keyboard, switches, phone, paper.

Outside judges: Chromium itself, the accessibility checker axe-core, and the sizes of the Web
Content Accessibility Guidelines 2.2 (1.4.10: no scrolling in two directions; 2.5.8: targets of
24 px). Without a browser or without Playwright there is nothing to judge with, so these tests are
left out and say so.
"""

import re

import pytest

from tests.made_report import report


@pytest.fixture(scope="module")
def address(sample_layers, tmp_path_factory):
    frames, crs = sample_layers
    path = tmp_path_factory.mktemp("report") / "report.html"
    page = report(frames, crs)
    path.write_text(page, encoding="utf-8")
    return path.as_uri()


@pytest.fixture
def page(browser, address):
    """The report on a desktop screen; what it says or asks for is held against it at the end."""
    opened = browser.new_page(viewport={"width": 1280, "height": 900})
    said, asked = [], []
    opened.on("console", lambda message: said.append(message.text))
    opened.on("pageerror", lambda error: said.append(str(error)))
    opened.on("request", lambda request: asked.append(request.url))
    opened.goto(address)
    yield opened
    opened.close()
    assert said == []
    assert asked == [address]


def view(page):
    return [float(n) for n in page.get_attribute("#map", "viewBox").split()]


def test_it_opens_without_errors_or_requests(page):
    assert page.title() == "Larkspindle Prairie 2027"
    assert page.locator("#map .unit").count() == 14


def test_a_switch_hides_and_shows_its_layer(page):
    prepared = page.locator('#map [data-layer="breaks_prepare"]')
    assert prepared.is_visible()
    page.uncheck('input[data-shows="breaks_prepare"]')
    assert prepared.is_hidden()
    page.check('input[data-shows="breaks_prepare"]')
    assert prepared.is_visible()


def test_one_fill_at_a_time_with_its_key(page):
    page.check('input[data-fills="years"]')
    shown = page.locator("#map [data-theme]:not([hidden])")
    assert shown.count() == 1
    assert shown.get_attribute("data-theme") == "years"
    assert page.locator("#key-years").is_visible()
    assert page.locator("#key-change0").is_hidden()
    page.check('input[data-fills="none"]')
    assert shown.count() == 0


def test_tab_reaches_the_units_and_enter_holds_one(page):
    page.locator("nav a").last.focus()
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.classList.contains('unit')"):
            break
    spoken = page.evaluate("document.activeElement.getAttribute('aria-label')")
    assert re.fullmatch(r"Unit \S+, .+, 77\.3 acres", spoken)
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.getAttribute('aria-pressed')") == "true"
    assert "77.3 ac" in page.inner_text("#card")
    page.keyboard.press("Enter")
    assert page.locator('.unit[aria-pressed="true"]').count() == 0


def test_keys_move_and_zoom(page):
    page.locator("#map .unit").first.focus()
    whole = view(page)
    page.keyboard.press("+")
    near = view(page)
    assert near[2] == pytest.approx(0.7 * whole[2])
    page.keyboard.press("ArrowRight")
    assert view(page)[0] == pytest.approx(near[0] + 0.15 * near[2])
    page.keyboard.press("ArrowDown")
    assert view(page)[1] > near[1]
    page.keyboard.press("-")
    assert view(page)[2] == pytest.approx(whole[2])
    page.keyboard.press("+")
    page.keyboard.press("0")
    assert view(page) == whole


def test_pointing_tells_and_a_click_holds(page):
    page.locator("#map").scroll_into_view_if_needed()
    box = page.locator("#map .unit").nth(3).bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] * 0.7)
    assert "ac" in page.inner_text("#card")
    page.mouse.down()
    page.mouse.up()
    held = page.inner_text("#card")
    page.mouse.move(2, 2)
    assert page.inner_text("#card") == held
    assert page.locator('.unit[aria-pressed="true"]').count() == 1


def test_dragging_moves_a_map_that_is_near(page):
    page.locator("#map .unit").first.focus()
    page.keyboard.press("+")
    page.keyboard.press("+")
    before = view(page)
    box = page.locator("#map").bounding_box()
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] - 60, middle[1], steps=6)
    page.mouse.up()
    assert view(page)[0] > before[0]
    assert page.locator('.unit[aria-pressed="true"]').count() == 0


def test_a_name_in_a_table_leads_to_its_unit_on_the_map(page):
    whole = view(page)
    page.locator("#units .find").nth(2).click()
    assert view(page)[2] < whole[2]
    assert page.evaluate("document.activeElement.dataset.unit") == "2"


@pytest.mark.parametrize("width", [390, 1280])
def test_no_scrolling_sideways_and_targets_large_enough(page, width):
    page.set_viewport_size({"width": width, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.evaluate(
        """[...document.querySelectorAll("button,summary,fieldset label,nav a")]
        .filter(e => e.offsetParent && (e.offsetHeight < 24 || e.offsetWidth < 24))
        .map(e => e.outerHTML)"""
    )
    assert small == []


def test_every_control_has_a_name_and_every_id_stands_once(page):
    faults = page.evaluate(
        """[...document.querySelectorAll("button,input,[role=button],[role=region],svg[role]")]
        .filter(e => !(e.getAttribute("aria-label") || e.textContent.trim()
            || (e.labels && e.labels[0] && e.labels[0].textContent.trim())))
        .map(e => e.outerHTML.slice(0, 80))"""
    )
    assert faults == []
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(e => e.id)")
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("width", [390, 1280])
def test_the_accessibility_checker_finds_nothing(page, axe, width):
    page.set_viewport_size({"width": width, "height": 800})
    page.evaluate(axe)
    found = page.evaluate("axe.run()")
    assert [(v["id"], v["impact"], v["nodes"][0]["html"]) for v in found["violations"]] == []
    assert len(found["passes"]) > 30


def test_paper_has_the_whole_map_the_tables_and_the_notes(page):
    page.locator("#map .unit").first.focus()
    page.keyboard.press("+")
    pdf = page.pdf(format="Letter")
    sheets = len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
    assert 5 <= sheets <= 40
    page.emulate_media(media="print")
    assert page.locator("nav").is_hidden()
    assert page.locator(".tools").is_hidden()
    assert page.locator("#map").is_visible()


def test_it_is_whole_without_its_script(browser, address):
    still = browser.new_context(java_script_enabled=False).new_page()
    still.goto(address)
    assert still.locator("#map .unit").count() == 14
    assert still.locator("#units table").first.is_visible()
    assert still.locator("#map [data-theme]:not([hidden])").count() == 1
    still.context.close()
