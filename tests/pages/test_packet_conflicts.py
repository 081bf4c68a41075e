"""What stands against the plan on the sheets of the packet: first, whole, and nothing lost.

Outside source: the text of the typeset file, read by poppler.
"""

import json
import re
import shutil
import subprocess
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.outputs import OUTPUTS
from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.work.layers import SERIOUSNESS
from pipeline.write.pages import packet_pdf
from tests.made_conflicts import WORDS, conflict, conflicts_layer, grazing, seeding
from tests.made_packet import CRS, block_frames, layer, with_area

typst = pytest.importorskip("typst", reason="the optional extra pdf is not installed")
needs_poppler = pytest.mark.skipif(
    shutil.which("pdftotext") is None, reason="pdftotext (poppler) is not installed"
)


def with_conflicts(*rows, frames=None):
    """One block and one area whose plan has these conflicts."""
    made = with_area(block_frames()) if frames is None else frames
    return made | {"conflicts": conflicts_layer(*rows, crs=CRS)}


def sheets_of(frames, folder, *options, stamp=""):
    """Text of each page of the packet, its blanks as one."""
    pages = json.dumps(packet_pages(frames, paper="letter", stamp=stamp))
    (folder / "packet.pdf").write_bytes(packet_pdf(pages))
    command = ["pdftotext", *options, str(folder / "packet.pdf"), "-"]
    text = subprocess.run(command, capture_output=True, check=True).stdout.decode()
    return [" ".join(page.split()) for page in text.split("\f")[:-1]]


def numbers(sheet):
    """Ranks of the conflicts of a sheet, those of the frame first."""
    entries = [*sheet["stops"], *(entry for _, group in sheet["notes"] for entry in group)]
    return [int(entry["number"]) for entry in entries]


EACH = (
    conflict(1, against="first of the block"),
    seeding(2, against="first of the area"),
    grazing(3, against="first of the grazing"),
    conflict(4, "think_again"),
    seeding(5, "think_again", against="a thought of the area"),
    grazing(6, "know"),
    conflict(7, "know"),
)


@needs_poppler
def test_first_kind_stands_on_top_of_every_sheet_that_it_concerns(tmp_path):
    season, _, block, tables, area, other = sheets_of(with_conflicts(*EACH), tmp_path)
    for sheet, title, told in (
        (season, "Season 2027", "first of the block"),
        (block, "Burn block: Block", "first of the block"),
        (area, "Drill sheet: Area", "first of the area"),
        (other, "Other work of the season", "first of the grazing"),
    ):
        top = re.search(rf"^{title}.*? STOP AND ASK .*?{told}", sheet)
        assert top, sheet
        assert len(top.group()) < 400, "nothing stands above it but the title"
    assert season.count("first of the") == 3
    assert "Who decides: wildlife agency. To resolve it: ask in writing." in block
    assert tables.index("Stretches") < tables.index("Think again") < tables.index("Know 7")
    assert WORDS["think_again"] in tables
    assert WORDS["think_again"] not in season
    assert "a thought of the area" in area
    assert WORDS["know"] in other


@needs_poppler
def test_counts_by_sheet_stand_on_the_first_one(tmp_path):
    season = sheets_of(with_conflicts(*EACH), tmp_path, "-layout")[0]
    assert "Burn block Block 1 1 1" in season
    assert "Seeding area Area 1 1 0" in season
    assert "Other work of the season 1 0 1" in season
    assert "Sum 3 2 2" in season
    assert "What is not listed is not thereby allowed" in season


@needs_poppler
def test_without_conflicts_and_tasks_no_sheet_and_no_frame_is_added(tmp_path):
    sheets = sheets_of(with_conflicts(), tmp_path)
    assert len(sheets) == 4  # overview, the block's map and its tables, the area
    assert not [sheet for sheet in sheets if "STOP AND ASK" in sheet or "Think again" in sheet]


@needs_poppler
def test_conflicts_alone_make_a_packet(tmp_path):
    output = next(output for output in OUTPUTS if output.name == "packet.pdf")
    empty = {name: frame.iloc[:0] for name, frame in block_frames().items()}
    assert not output.called_for(empty)
    frames = with_conflicts(grazing(1), frames=empty | {"property": block_frames()["property"]})
    assert output.called_for(frames)
    season, other = sheets_of(frames, tmp_path)
    assert "STOP AND ASK" in season
    assert "STOP AND ASK" in other


@needs_poppler
def test_mowing_sheet_sends_the_driver_back_to_what_must_be_asked(tmp_path):
    strip = {"strip_id": "S1", "block": "Block", "width_ft": 20.0, "area_ac": 1.0, "passes": 2}
    strip |= {"pass_length_ft": 99.0, "hours": 0.1, "unmown_sqft": 0.0}
    strips = layer("mow_strips", [strip | {"narrow": False}], [block_frames()["units"].geometry[0]])
    sheets = sheets_of(with_conflicts(*EACH) | {"mow_strips": strips}, tmp_path)
    (mowing,) = [sheet for sheet in sheets if sheet.startswith("Mowing sheet")]
    assert "STOP AND ASK before mowing: see the sheet of the block" in mowing


PLACES = st.fixed_dictionaries(
    {
        "block": st.sampled_from(["Block", "Refused", None]),
        "area": st.sampled_from(["Area", "Gone", None]),
        "unit_id": st.sampled_from(["U1", None]),
        "kind": st.sampled_from(["burn", "seed", "graze", "hay"]),
        "seriousness": st.sampled_from(SERIOUSNESS),
    }
)


@settings(max_examples=40, deadline=None)
@given(st.lists(PLACES, max_size=12))
def test_as_many_conflicts_are_shown_as_there_are(places):
    told = [
        conflict(number, work_id="made", **place) for number, place in enumerate(places, start=1)
    ]
    pages = packet_pages(with_conflicts(*told), paper="letter")
    sheets = [*pages["blocks"], *pages["areas"], *([pages["other"]] if pages["other"] else [])]
    shown = [number for sheet in sheets for number in numbers(sheet)]
    assert sorted(shown) == list(range(1, len(told) + 1))
    if told:
        *_, sums = pages["season_sheet"]["counts"]["rows"]
        assert sum(map(int, sums[1:])) == len(told)
        first = [n for n, row in enumerate(told, 1) if row["seriousness"] == "stop_and_ask"]
        assert numbers(pages["season_sheet"]) == first


HOSTILE = ('#panic("x") *bold* @ref <label> // no', "a\x00b\nc", "=1+1", "\u202e txet", "W" * 80)


@needs_poppler
@pytest.mark.parametrize("name", HOSTILE)
def test_words_of_a_conflict_are_text_and_nothing_else(name, tmp_path):
    frames = with_conflicts(conflict(1, against=name, resolve=name, unit_id=name))
    printed = "".join("".join(sheets_of(frames, tmp_path)).replace("\u200b", "").split())
    words = [w for w in re.findall(r"[!-~]+", name.replace("\x00", " ")) if len(w) < 30]
    assert all(word.rstrip(".") in printed for word in words)
    assert "\u202e" not in printed


def task(number, **cells):
    """A task of a crew."""
    told = {"number": number, "task_id": f"t{number}", "kind": "mow_breaks", "who": "crew"}
    return told | {"overdue": False} | cells


@needs_poppler
def test_tasks_are_a_dated_list_with_place_amount_who_and_what_comes_first(tmp_path):
    told = [
        task(1, kind="ask_permit", due="2027-01-15", block="North", who="fire_authority"),
        task(
            2,
            first_day="2027-02-01",
            due="2027-02-20",
            block="North",
            amount=8580.4,
            amount_unit="ft",
            waits_for="t1",
        ),
        task(3, kind="window_opens", due="2027-03-01", block="North", waits_for="t1, t2"),
    ]
    frames = with_conflicts() | {"tasks": layer("tasks", told, [None] * 3)}
    sheets = sheets_of(frames, tmp_path, "-layout")
    assert sheets[0].startswith("Season 2027")
    tasks = sheets[1]
    assert tasks.startswith("Tasks of season 2027")
    assert "1 by 2027-01-15 Ask for the permit block North fire authority" in tasks
    assert "2027-02-01 to" in tasks
    assert "Mow the breaks" in tasks
    assert "8,580 ft" in tasks
    assert "crew 1" in tasks
    assert "1, 2" in tasks
    window = packet_pages(frames, paper="letter")["season_sheet"]["tasks"]["rows"][2]
    assert "no permission to light anything" in window[2]
    assert "No task is a burn" in tasks


@needs_poppler
def test_sheets_say_as_of_which_day_and_which_sources(tmp_path):
    info = {"name": "Made Prairie", "season": 2027, "as_of": "2026-11-15"}
    frames = with_conflicts(*EACH) | {"property": layer("property", [info])}
    for sheet in sheets_of(frames, tmp_path, stamp="2026-11-27T03:00:58.000Z"):
        assert "as of 2026-11-15, newest source of 2026-11-27" in sheet


@needs_poppler
def test_sheets_stand_in_the_order_in_which_people_count(tmp_path):
    block = block_frames()["burn_blocks"]
    names = ["10", "2", "1"]
    blocks = [block.iloc[0].drop("geometry").to_dict() | {"block": name} for name in names]
    frames = block_frames() | {"burn_blocks": layer("burn_blocks", blocks, [*block.geometry] * 3)}
    told = [conflict(n, block=name) for n, name in enumerate(names, start=1)]
    pages = packet_pages(with_conflicts(*told, frames=frames), paper="letter")
    assert [page["name"] for page in pages["blocks"]] == ["1", "2", "10"]
    sheets = [row[0] for row in pages["season_sheet"]["counts"]["rows"]]
    assert sheets[:3] == ["Burn block 1", "Burn block 2", "Burn block 10"]


@needs_poppler
def test_words_of_conflicts_and_tasks_are_large_enough_for_a_truck(tmp_path):
    # The title is set in 17 points: sizes of other words follow from the heights of their boxes.
    tasks = layer("tasks", [task(1, due="2027-01-15", block="North")], [None])
    sheets_of(with_conflicts(*EACH) | {"tasks": tasks}, tmp_path)
    command = ["pdftotext", "-bbox", str(tmp_path / "packet.pdf"), "-"]
    pages = ElementTree.fromstring(subprocess.run(command, capture_output=True, check=True).stdout)
    name = "{http://www.w3.org/1999/xhtml}"
    sizes = {}
    for page in list(pages.iter(f"{name}page"))[:2]:
        words = list(page.iter(f"{name}word"))
        height = {word: float(word.get("yMax")) - float(word.get("yMin")) for word in words}
        per_point = height[words[0]] / 17
        above = [word for word in words if float(word.get("yMax")) < 715]
        sizes |= {word.text: height[word] / per_point for word in above}
    assert {"agency.", "thereby", "crew"} <= set(sizes)
    small = {text: size for text, size in sizes.items() if size < 8.95}
    # The headings of tables are 0.6 points smaller than their cells.
    headings = (
        "Sheet Stop and ask Think again Know No. By What to do Where How much Who Waits for Done"
    )
    assert set(small) <= set(headings.split())


@needs_poppler
def test_many_conflicts_run_on_over_pages_and_each_is_printed(tmp_path):
    told = [conflict(n, against=f"clash no{n:03d}") for n in range(1, 121)]
    pages = sheets_of(with_conflicts(*told), tmp_path)
    block = [page for page in pages if "Burn block: Block" in page]
    assert len(block) > 2
    for number in range(1, 121):
        assert sum(f"clash no{number:03d}" in page for page in block) == 1
