"""The first screen as a browser shows it, on a desk, on a small laptop and on a phone.

Outside judges: Chromium's own boxes, axe-core, and the Web Content Accessibility Guidelines 2.2
(1.4.10: no scrolling in two directions; 2.5.8: targets of 24 px).
"""

import pytest

from pipeline.work.codes import WORK_KINDS
from tests.made_plan import with_work
from tests.made_report import grid_layers, report

DESK, LAPTOP, PHONE = (1440, 900), (1024, 768), (390, 844)
TALL = (1440, 1400)
MANY = {"counts": (40, 60, 50), "days": tuple(range(-160, 240)), "kinds": WORK_KINDS}


@pytest.fixture(scope="module")
def addresses(sample_layers, tmp_path_factory):
    """Reports of the sample, of it with late tasks, and of 300 units with 400 tasks."""
    folder = tmp_path_factory.mktemp("first")
    frames, crs = grid_layers(300, scenes=0)
    pages = {
        "sample": report(*sample_layers),
        "late": report(with_work(*sample_layers), sample_layers[1]),
        "many": report(with_work(frames, crs, **MANY), crs),
    }
    for name, page in pages.items():
        (folder / f"{name}.html").write_text(page, encoding="utf-8")
    return {name: (folder / f"{name}.html").as_uri() for name in pages}


@pytest.fixture
def opened(browser, addresses):
    """Open a page at a size; what it says on the console is held against it at the end."""
    pages, said = [], []

    def opener(name, size):
        width, height = size
        page = browser.new_page(viewport={"width": width, "height": height})
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        page.goto(addresses[name])
        pages.append(page)
        return page

    yield opener
    for page in pages:
        page.close()
    assert said == []


def foot(box):
    return box["y"] + box["height"]


@pytest.mark.parametrize("name", ["sample", "late", "many"])
@pytest.mark.parametrize("size", [DESK, LAPTOP], ids=str)
def test_box_map_and_three_tasks_are_on_the_first_screen(opened, name, size):
    page = opened(name, size)
    boxes = [page.locator(s).bounding_box() for s in (".stop", "#season-map", ".firstcaution")]
    tasks = [item.bounding_box() for item in page.locator(".tasks > ol > li").all()[:3]]
    assert len(tasks) == 3
    for box in (*boxes, *tasks):
        assert box["height"] > 20
        assert foot(box) <= size[1]
        assert 0 <= box["x"] <= box["x"] + box["width"] <= size[0]
    assert "no permission to ignite" in page.inner_text(".firstcaution")


def test_the_box_says_what_is_planned_what_stands_against_it_who_decides_and_what_helps(
    opened, sample_layers
):
    conflicts = sample_layers[0]["conflicts"]
    stop = conflicts[conflicts["seriousness"] == "stop_and_ask"]
    assert len(stop) >= 3
    page = opened("sample", LAPTOP)
    page.evaluate("document.querySelectorAll('.stop details').forEach(d => { d.open = true; })")
    text = page.inner_text(".stop")
    assert text.startswith(f"Stop and ask: {len(stop)}\n")
    for row in stop.to_dict("records"):
        places = ((column, row[column]) for column in ("block", "area", "unit_id"))
        kind, name = next((kind, name) for kind, name in places if name is not None)
        place = f"{kind.removesuffix('_id')} {name}"
        assert f"of {place}" in text
        assert row["against"][1:] in text
        assert f"Who decides: {row['who_decides'].replace('_', ' ')}. " in text
        assert f"To resolve it: {row['resolve']}." in text


@pytest.mark.parametrize("name", ["sample", "many"])
def test_on_a_phone_the_map_comes_first_then_conflicts_then_tasks(opened, name):
    page = opened(name, PHONE)
    plat, stop, tasks = (
        page.locator(s).bounding_box() for s in (".ground .plat", ".stop", ".tasks")
    )
    assert foot(plat) < stop["y"] < tasks["y"]
    assert foot(plat) <= PHONE[1]
    assert plat["width"] >= 0.9 * PHONE[0]
    assert foot(page.locator(".firstcaution").bounding_box()) < plat["y"]
    assert stop["y"] < PHONE[1], "what to ask begins on the first screen"


@pytest.mark.parametrize(
    ("name", "size"), [("sample", DESK), ("many", LAPTOP), ("sample", PHONE), ("late", PHONE)]
)
def test_nothing_scrolls_sideways_and_targets_are_large_enough(opened, name, size):
    page = opened(name, size)
    page.evaluate("document.querySelectorAll('.first details').forEach(d => { d.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    beyond = page.evaluate(
        """[...document.querySelectorAll('.first, .first *')].filter(e => e.getClientRects().length
        && !e.closest('svg') && e.getBoundingClientRect().right > innerWidth + 1).length"""
    )
    assert beyond == 0
    small = page.evaluate(
        """[...document.querySelectorAll('.first summary')].filter(e => e.offsetHeight < 24)
        .length"""
    )
    assert small == 0


@pytest.mark.parametrize("size", [DESK, LAPTOP, PHONE], ids=str)
def test_the_accessibility_checker_finds_nothing(opened, axe, size):
    page = opened("sample", size)
    page.evaluate("document.querySelectorAll('.first details').forEach(d => { d.open = true; })")
    page.evaluate(axe)
    found = page.evaluate(
        "axe.run({include: [['header'], ['.first']]}, {resultTypes: ['violations']})"
    )
    assert [(v["id"], v["impact"], v["nodes"][0]["html"]) for v in found["violations"]] == []


def test_what_is_folded_opens_by_the_keyboard_and_every_conflict_is_there(opened):
    page = opened("many", DESK)
    fold = page.locator(".stop summary")
    assert fold.inner_text().startswith("37 more to stop for: ")
    assert page.locator(".stop li:visible").count() == 3
    for _ in range(5):
        page.keyboard.press("Tab")
        if fold.evaluate("e => e === document.activeElement"):
            break
    page.keyboard.press("Enter")
    assert page.locator(".stop li:visible").count() == 40
    page.evaluate(
        "document.querySelectorAll('.conflicts details').forEach(d => { d.open = true; })"
    )
    page.locator(".conflicts .against > li").nth(149).wait_for()
    assert page.locator(".conflicts .against > li").count() == 150
    assert page.locator(".todo li:visible").count() == 5
    page.locator(".tasks summary").click()
    page.locator(".todo li").nth(399).wait_for()
    assert page.locator(".todo li").count() == 400


def test_all_that_asks_to_stop_stands_open_where_the_screen_has_room(opened):
    page = opened("sample", TALL)
    assert page.locator(".stop li").count() == page.locator(".stop li:visible").count()
    assert foot(page.locator(".stop").bounding_box()) <= TALL[1]
    assert opened("many", LAPTOP).locator(".stop details[open]").count() == 0


def test_overdue_is_said_in_words_and_stands_first(opened):
    page = opened("late", LAPTOP)
    days = page.locator(".tasks > ol .day").all_inner_texts()
    assert [" ".join(day.split()) for day in days[:3]] == [
        "2026-11-03 Overdue by 12 days",
        "2026-11-12 Overdue by 3 days",
        "2026-11-24 In 9 days",
    ]
    assert page.inner_text("#todo-title") == "To do: 2 overdue, 3 within 8 weeks"


@pytest.mark.parametrize("size", [DESK, LAPTOP, PHONE], ids=str)
def test_no_day_lies_on_the_words_of_its_task(opened, size):
    page = opened("many", size)
    rooms = page.evaluate(
        """() => [...document.querySelectorAll('.tasks > ol li')].map(li => {
        const right = e => e.getBoundingClientRect().right;
        const days = [...li.querySelectorAll('.day *')].map(right);
        return li.children[1].getBoundingClientRect().left - Math.max(...days); })"""
    )
    assert min(rooms) >= 0


@pytest.mark.parametrize("size", [DESK, LAPTOP, PHONE], ids=str)
def test_marks_and_names_of_the_map_do_not_lie_on_each_other(opened, size):
    page = opened("sample", size)
    lying = page.evaluate(
        """() => {
        const inside = b => ({l: b.left + 1, r: b.right - 1, t: b.top + 2, b: b.bottom - 2});
        const texts = [...document.querySelectorAll('#season-map text')]
            .filter(e => !e.closest('#season-scale'))
            .map(e => [e.textContent, inside(e.getBoundingClientRect())]);
        return texts.flatMap(([one, a], n) => texts.slice(n + 1)
            .filter(([, b]) => a.l < b.r && b.l < a.r && a.t < b.b && b.t < a.b)
            .map(([other]) => one + ' on ' + other)); }"""
    )
    assert lying == []


def test_on_paper_all_that_asks_to_stop_is_open(opened):
    page = opened("many", DESK)
    assert page.locator(".stop details:not([open])").count() == 1
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert page.locator(".stop li:visible").count() == 40
    page.evaluate("document.querySelector('#conflicts details').open = true")
    page.locator("#conflicts tbody tr").nth(149).wait_for(state="attached")
    assert page.locator("#conflicts tbody tr:not(.under)").count() == 150


def test_it_is_whole_without_its_script(browser, addresses):
    still = browser.new_context(java_script_enabled=False).new_page()
    still.goto(addresses["sample"])
    assert still.locator("#season-map").is_visible()
    assert still.locator(".stop li").count() >= 3
    still.context.close()
