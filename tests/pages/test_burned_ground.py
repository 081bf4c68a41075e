"""What the log has burned this season stands on the sheets as burned, not as work to do."""

import pytest
from shapely.geometry import LineString, Point, box

from pipeline.pages.field.items import plan_items
from pipeline.pages.packet.burned_ground import burned_of_block
from pipeline.pages.packet.packet_pages import packet_pages
from tests.made_packet import block_frames, layer, rectangle_m

WHOLE = rectangle_m(1000, 600)
BURNED = "burned this season, by the log"
STRIP = {"strip_id": "Block-1", "block": "Block", "width_ft": 20.0, "area_ac": 1.0, "passes": 2}
STRIP |= {"pass_length_ft": 99.0, "hours": 0.1, "unmown_sqft": 0.0, "narrow": False}


def frames_of(*burns, planned=True, part=None, part_ac=1.0, acres=None):
    """A block of one unit with burns in the log, and a strip to be mown."""
    frames = block_frames(1000, 600, status="prepare")
    told = {"unit_id": "U1", "kind": "burn", "acres_treated_ac": acres}
    rows = [told | {"start": day, "end": day} for day in burns]
    frames["treatment_log"] = layer("treatment_log", rows)
    pct = 100.0 if acres is None else 100 * acres / (600000 / 43560)
    record = {"record_ac": acres, "unit_pct": pct, "acres_from": "told" if acres else "whole_unit"}
    book = [told | record | {"start": day, "end": day, "number": n} for n, day in enumerate(burns)]
    frames["record_book"] = layer("record_book", book, [WHOLE] * len(book))
    frames["mow_strips"] = layer("mow_strips", [STRIP], [box(-150, -90, 150, -84)])
    if not planned:
        frames["planned_work"] = frames["planned_work"].iloc[:0]
    if part is not None:
        told = {"unit_id": "U1", "part": 1, "area_ac": part_ac, "burns": 1, "last_burn_year": 2027}
        told |= {"burned_again_soon": False}
        frames["fire_history"] = layer("fire_history", [told], [part])
    return frames


def burned(frames):
    return burned_of_block(frames["burn_blocks"].to_dict("records")[0], frames)


def test_a_block_that_is_burned_is_no_work_any_more():
    frames = frames_of("2027-04-02", planned=False)
    found = burned(frames)
    assert found.whole
    assert found.ground.area == pytest.approx(WHOLE.area)
    pages = packet_pages(frames, paper="letter")
    (page,) = pages["blocks"]
    assert page["burned"] == "Burned this season, by the log: U1 on 2027-04-02."
    svg = page["map"]["svg"]
    assert BURNED in svg
    for words in ("ground of the block", "break to prepare", "strip to be mown"):
        assert words not in svg
    assert page["strips"]["rows"] == page["driving"] == []
    assert BURNED in pages["overview"]["map"]["svg"]
    assert "ground of the block" not in pages["overview"]["map"]["svg"]


def test_no_code_leads_to_mowing_that_a_burned_block_has_no_more():
    frames = frames_of("2027-04-02", planned=False)
    told = {"block": "Block", "strip_id": "Block-1", "pass_number": 1, "part": 1, "drive_order": 1}
    passes = layer("mow_passes", [told | {"length_ft": 9.0}], [LineString([(0, 0), (9, 9)])])
    (page,) = packet_pages(frames | {"mow_passes": passes}, paper="letter")["blocks"]
    assert page["gate_code"] is None
    planned = frames_of() | {"mow_passes": passes}
    (page,) = packet_pages(planned, paper="letter")["blocks"]
    assert page["gate_code"]["words"].startswith("Where mowing begins: ")
    gate = layer("gates", [{"gate_id": 1, "name": None}], [Point(0, 140)])
    (page,) = packet_pages(frames | {"gates": gate}, paper="letter")["blocks"]
    assert page["gate_code"]["words"].startswith("Gate G1: ")


def test_a_unit_with_a_comma_in_its_name_is_seen_to_have_burned():
    frames = frames_of("2027-04-02", planned=False)
    for name in ("units", "burn_blocks", "treatment_log"):
        column = "unit_ids" if name == "burn_blocks" else "unit_id"
        frames[name] = frames[name].assign(**{column: "North, upper"})
    found = burned(frames)
    assert found.whole
    assert found.words == "Burned this season, by the log: North, upper on 2027-04-02."
    assert packet_pages(frames, paper="letter")["blocks"][0]["units"] == "North, upper"


def test_files_for_the_field_tell_of_a_block_that_it_burned():
    (block,) = (
        item.told
        for item in plan_items(frames_of("2027-04-02", planned=False))
        if item.layer == "burn_blocks"
    )
    assert block.remark.startswith("Burned this season, by the log: U1 on 2027-04-02; units U1;")


def test_a_part_with_its_perimeter_is_drawn_as_burned_and_the_rest_as_to_burn():
    half = box(WHOLE.bounds[0], WHOLE.bounds[1], 0, WHOLE.bounds[3])
    frames = frames_of("2027-04-02", part=half, acres=6.9)
    found = burned(frames)
    assert not found.whole
    assert found.ground.area == pytest.approx(WHOLE.area / 2)
    assert found.words.endswith("U1 on 2027-04-02 in part.")
    (page,) = packet_pages(frames, paper="letter")["blocks"]
    for words in (BURNED, "ground of the block", "break to prepare", "strip to be mown"):
        assert words in page["map"]["svg"]
    assert len(page["strips"]["rows"]) == 1


def test_a_part_without_a_perimeter_is_told_and_drawn_nowhere():
    found = burned(frames_of("2027-04-02", acres=2.0))
    assert found.ground.is_empty
    assert found.words.endswith("U1 on 2027-04-02 in part, where is not known.")


def test_most_of_a_unit_by_its_acres_is_not_drawn_as_all_of_it():
    """The history has a unit as burned of which more than half burned: 8 of 13.8 acres here."""
    found = burned(frames_of("2027-04-02", acres=8.0, part=WHOLE, part_ac=600000 / 43560))
    assert found.ground.is_empty
    assert found.words.endswith("U1 on 2027-04-02 in part, where is not known.")


def test_a_whole_unit_that_is_planned_again_is_not_told_as_a_part():
    found = burned(frames_of("2027-04-02", part=WHOLE, part_ac=600000 / 43560))
    assert found.ground.area == pytest.approx(WHOLE.area)
    assert not found.whole
    assert found.words.endswith("U1 on 2027-04-02, and it is planned again.")


@pytest.mark.parametrize(
    ("day", "planned", "is_burned"),
    [
        ("2026-04-14", True, False),  # the burn of last spring; this season's is planned
        ("2026-11-05", False, True),  # in fall, and planned no longer
        ("2026-11-05", True, False),  # in fall, another one is planned
        ("2026-04-14", False, False),  # long before; why nothing is planned is not known
    ],
)
def test_only_the_burn_of_this_season_counts(day, planned, is_burned):
    found = burned(frames_of(day, planned=planned))
    assert found.whole == is_burned
    assert bool(found.words) == is_burned
