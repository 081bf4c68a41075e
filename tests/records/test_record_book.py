"""The record book: every row of the log comes out again, with the acres it concerns.

Acres are held against those of squares of known sides, made in a plane whose ellipsoidal areas
differ from flat ones by less than the tolerance told. The rest joins tables by hand.
"""

import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.core.units import M2_PER_AC
from pipeline.log.treatment_log import keep_done, keep_open_plans, keep_planned, keep_usable_rows
from pipeline.records.blank_log import make_blank_log
from pipeline.records.book import keep_records
from pipeline.records.burn_reports import report_burns
from pipeline.records.findings import find_records
from pipeline.records.parties import list_contract_records, list_owner_units, list_work_records
from pipeline.records.plan_records import hold_plans_against_records
from pipeline.records.seed_records import list_seed_records
from pipeline.work.planned import list_planned_work
from tests.literal_layers import literal_layer
from tests.made_season import PLANE, square_units
from tests.work.made_plan import burn

UNITS = square_units(A=80, B=60, C=40)
OWNED = literal_layer(
    "drawn_units",
    [
        {"unit_id": "A", "owner": "Aster Land"},
        {"unit_id": "B", "owner": "Łąka; 草原"},
        {"unit_id": "C"},
    ],
    list(UNITS.geometry),
    PLANE,
)
NO_FUEL = literal_layer("fuel")


def place(as_of="2026-11-15", season=2027):
    return literal_layer("property", [{"name": "P", "season": season, "as_of": as_of}])


def drawn(*burned):
    """Burned ground: unit, day, and the share of the unit's width that burned, from the west."""
    ground = UNITS.set_index("unit_id").geometry
    rows = [{"unit_id": unit, "date": day} for unit, day, _ in burned]
    shapes = []
    for unit, _, share in burned:
        west, south, east, north = ground[unit].bounds
        # Beyond the unit on three sides: only what lies on it counts.
        shapes.append(shapely.box(west - 50, south - 50, west + share * (east - west), north + 50))
    return literal_layer("burned_areas", rows, shapes, PLANE)


def book(*rows, burned=(), as_of="2026-11-15"):
    """Layer ``record_book`` of rows of the log."""
    told = literal_layer("treatments", rows)
    made = keep_records(told, UNITS, OWNED, drawn(*burned), place(as_of))
    return conform(made, LAYERS["record_book"], PLANE)


def row(unit, kind, start, end=None, **cells):
    return {"unit_id": unit, "kind": kind, "start": start, "end": end, **cells}


def test_a_burn_of_part_of_two_units_is_one_report_with_the_ground_of_both():
    day = "2026-04-14"
    told = {"permit": "N-1", "led_by": "burn boss", "start_time": "12:40", "humidity_pct": 40}
    records = book(
        row("A", "burn", day, **told, wind_mph=8, note="east side thin"),
        row("B", "burn", day, **told, wind_mph=9, note="clean"),
        row("C", "burn", day, permit="N-2"),
        burned=[("A", day, 0.5), ("B", day, 0.25)],
    )
    reports = conform(report_burns(records, UNITS), LAYERS["burn_reports"], PLANE)
    assert reports["burn"].to_list() == [f"{day} N-1", f"{day} N-2"]
    both = reports.iloc[0]
    assert both["unit_ids"] == "A, B"
    assert both["burned_ac"] == pytest.approx(80 / 2 + 60 / 4, rel=2e-3)
    assert both["units_ac"] == 140
    assert both["geometry"].area / M2_PER_AC == pytest.approx(55, rel=1e-6)
    assert both["acres_from"] == "drawn"
    assert (both["led_by"], both["humidity_pct"]) == ("burn boss", 40)
    assert pd.isna(both["wind_mph"]), "its rows tell two"
    assert both["note"] == "A: east side thin; B: clean"
    assert reports.iloc[1]["burned_ac"] == 40


def test_the_area_of_a_spraying_in_a_patch_is_what_its_row_tells():
    (record,) = book(
        row("A", "spray", "2026-06-10", acres_treated_ac=1.2, product="product A")
    ).to_dict("records")
    assert (record["record_ac"], record["acres_from"]) == (1.2, "told")
    assert record["unit_pct"] == pytest.approx(1.5)
    assert (record["product"], record["owner"]) == ("product A", "Aster Land")


def test_a_row_of_a_unit_that_is_no_more_is_kept_and_told():
    records = book(
        row("gone", "spray", "2025-06-10", acres_treated_ac=3, license_no="1", epa_reg_no="2"),
        row("gone", "burn", "2025-04-10"),
        row(None, "mow", "2025-07-10"),
        row("A", "mow", None),
        row("A", "hay", "2025-07-10", "2025-07-01"),
        row("A", "hay", "2026-11-16"),
        {"unit_id": "A", "kind": "hay", "planned_start": "2026-07-01"},
    )
    assert records["number"].to_list() == [1, 2, 3, 4, 5], (
        "what is to come and plans are no records"
    )
    codes = ["unknown_unit"] * 2 + ["no_unit", "no_first_day", "ends_before_it_begins"]
    assert records["left_out"].to_list() == codes
    assert records["record_ac"].isna().to_list() == [False, True, True, False, False]
    assert records["geometry"].isna().to_list() == [True, True, True, False, False]
    (report,) = report_burns(records, UNITS).to_dict("records")
    assert report["geometry"] is None
    assert pd.isna(report["burned_ac"])


def test_a_grazing_over_new_year_is_one_record_until_the_day_looked_at_from():
    graze = row("A", "graze", "2025-11-20", "2026-02-10", head=9)
    (cut,) = book(graze, as_of="2026-01-15").to_dict("records")
    (whole,) = book(graze).to_dict("records")
    assert (cut["year"], str(cut["end"].date())) == (2025, "2026-01-15")
    assert str(whole["end"].date()) == "2026-02-10"
    (open_end,) = book(graze | {"end": None}).to_dict("records")
    assert open_end["end"] == open_end["start"]


def test_seed_is_followed_from_the_strip_it_grew_on_to_the_unit_it_was_sown_on():
    records = book(
        row("A", "harvest", "2024-09-20", lot="Meadow  2024", strip="north third", taken_lb=300),
        row("B", "seed", "2026-01-05", lot="meadow 2024; LP-7", mix="dry", strip="2"),
        row("gone", "seed", "2025-05-05", lot="Meadow 2024", mix="dry"),
        row("C", "seed", "2025-05-09", mix="dry"),
    )
    harvests = literal_layer(
        "harvests",
        [
            {"harvest": "Meadow 2024", "species": "big bluestem", "bulk_lb": 210},
            {"harvest": "Meadow 2024", "species": "little bluestem", "bulk_lb": 90},
        ],
    )
    lots = literal_layer("seed_lots", [{"lot": "lp-7", "species": "dropseed", "origin": "a farm"}])
    areas = [{"area": "East", "unit_id": "B", "mix": "dry", "method": "drill"}]
    made = list_seed_records(records, harvests, lots, literal_layer("seedings", areas))
    seed = conform(made, LAYERS["seed_records"]).set_index(["number", "lot_number"])
    grown, sown, bought, away, untold = seed.to_dict("records")
    assert grown["sown_on"] == "B 2026; gone 2025", "as the log has them"
    assert (grown["harvest_lb"], grown["taken_lb"]) == (300, 300)
    assert grown["seed_species"] == "big bluestem; little bluestem"
    assert (sown["gathered_on"], sown["areas"], sown["strip"]) == ("A 2024", "East", "2")
    assert (bought["origin"], bought["seed_species"]) == ("a farm", "dropseed")
    assert pd.isna(bought["gathered_on"])
    assert (away["gathered_on"], away["areas"]) == ("A 2024", None)
    assert (untold["lot"], untold["gathered_on"]) == (None, None)


def plans(*rows, burns=(), as_of="2026-11-15", season=2027):
    """Layers ``plan_records`` and ``record_findings`` of rows of the log and burns of the file."""
    told, at = literal_layer("treatments", rows), place(as_of, season)
    records = conform(keep_records(told, UNITS, OWNED, drawn(), at), LAYERS["record_book"], PLANE)
    made = hold_plans_against_records(
        records,
        conform(keep_open_plans(told, UNITS), LAYERS["open_plans"]),
        UNITS,
        literal_layer("burns", burns),
        literal_layer("seedings"),
        NO_FUEL,
        at,
    )
    table = conform(made, LAYERS["plan_records"])
    return table, find_records(records, table, at)


def outcomes(table):
    return {(r.unit_id, r.kind): r.outcome for r in table.itertuples()}


def test_what_was_planned_is_held_against_what_was_done():
    table, told = plans(
        row("A", "hay", "2026-07-20", planned_start="2026-07-15", planned_end="2026-07-18"),
        {"unit_id": "B", "kind": "mow", "planned_start": "2026-06-10"},
        {
            "unit_id": "C",
            "kind": "burn",
            "planned_start": "2026-04-01",
            "planned_end": "2026-04-30",
        },
        row("C", "burn", "2026-05-02", acres_treated_ac=10),
        row("C", "burn", "2026-05-03", acres_treated_ac=12),
        row("B", "spray", "2026-06-12", acres_treated_ac=1.2),
        row("B", "rest", "2026-01-01", "2026-12-31"),
        row("A", "burn", "2024-04-12"),
        {"unit_id": "A", "kind": "mow", "planned_start": "2027-06-10"},
    )
    assert outcomes(table) == {
        ("C", "burn"): "done_in_part",
        ("B", "mow"): "not_done",
        ("A", "hay"): "done",
        ("B", "spray"): "done_unplanned",
    }
    burned = table[table["kind"] == "burn"].iloc[0]
    assert burned["record_ac"] == 22
    assert (str(burned["start"].date()), str(burned["end"].date())) == ("2026-05-02", "2026-05-03")
    counts = told["code"].value_counts().to_dict()
    assert counts == {
        "burn_without_permit": 3,
        "spray_without_license": 1,
        "spray_without_registration": 1,
        "planned_not_done": 1,
        "done_not_planned": 1,
    }
    assert told.set_index("code").loc["done_not_planned", "amount"] == 1.2


def test_a_burn_of_the_property_file_is_done_by_its_row_of_the_blank_log_once():
    days = ("2027-03-20", "2027-04-10")
    of_file = burn("N", "A", "B", days=days)
    named = {"plan": "burn:N", "planned_start": days[0], "planned_end": days[1]}
    rows = [
        row("A", "burn", "2027-04-03", **named),
        {"unit_id": "B", "kind": "burn", **named},
    ]
    table, _ = plans(*rows, burns=of_file, as_of="2027-06-01")
    assert outcomes(table) == {("A", "burn"): "done", ("B", "burn"): "not_done"}
    assert len(table) == 2
    early, _ = plans(*rows[1:], burns=of_file, as_of="2027-04-01")
    assert early.empty, "its days are not over"
    later, _ = plans(*rows, burns=of_file, as_of=None)
    assert later.empty


def test_a_harvest_without_a_lot_is_told_for_no_sowing_can_be_traced_to_it():
    """The lot alone joins what was gathered in a strip with what is sown of it later."""
    records = book(
        row("A", "harvest", "2026-09-20", strip="north third", species="big bluestem"),
        row("A", "harvest", "2026-09-21", lot="Meadow 2026"),
        row("B", "seed", "2026-11-10", lot="Meadow 2026", mix="dry"),
        row("gone", "harvest", "2026-09-20"),
        row("B", "harvest", "2021-09-20"),
    )
    told = find_records(records, literal_layer("plan_records"), place())
    assert told["code"].to_list() == ["harvest_without_lot"]
    (finding,) = told.to_dict("records")
    assert (finding["subject"], finding["row"], finding["severity"]) == ("A", 1, "note")
    assert finding["message"] == "harvest of 2026-09-20: no lot is written down"


def test_old_plans_are_kept_and_asked_about_no_more():
    table, told = plans(
        {"unit_id": "A", "kind": "mow", "planned_start": "2025-12-20", "planned_end": "2026-01-05"},
        {"unit_id": "A", "kind": "hay", "planned_start": "2026-07-01"},
    )
    assert table["year"].to_list() == [2026, 2025]
    assert told["message"].str.startswith("hay planned").to_list() == [True]


def season(*rows, burns=(), as_of="2026-11-15"):
    """What the log and the property file plan, with the blank log of it."""
    told, at = literal_layer("treatments", rows), place(as_of)
    log = keep_usable_rows(told, UNITS)
    future = keep_planned(log, at, keep_open_plans(told, UNITS))
    future = conform(future, LAYERS["planned_log"])
    work = list_planned_work(
        UNITS,
        literal_layer("burns", burns),
        literal_layer("seedings"),
        future,
        conform(keep_done(log, at), LAYERS["treatment_log"]),
        literal_layer("burned_areas", crs=PLANE),
        NO_FUEL,
        at,
    )
    work = conform(work, LAYERS["planned_work"], PLANE)
    blank = conform(make_blank_log(work, future, log), LAYERS["blank_log"])
    return work, future, blank


def test_the_blank_log_read_again_plans_the_same_and_filled_in_it_is_done():
    rows = [
        row("C", "graze", "2027-05-01", "2027-06-01", head=20, animal_unit_equivalent=1.3),
        row("C", "rest", "2026-01-01", "2026-12-31"),
        row("B", "spray", "2027-06-10", target="thistle", practice="weeds"),
    ]
    of_file = burn("N", "A", "B", days=("2027-03-20", "2027-04-10"))
    work, _, blank = season(*rows, burns=of_file)
    assert blank["plan"].to_list() == [
        "burn:N",
        "burn:N",
        "graze:C:2027-05-01",
        "spray:B:2027-06-10",
    ], "the rest is under way, and in the log already"
    assert blank["start"].isna().all()
    again, _, second = season(*blank.to_dict("records"), burns=of_file)
    kept = work[work["kind"] != "rest"].reset_index(drop=True)
    pd.testing.assert_frame_equal(pd.DataFrame(again), pd.DataFrame(kept))
    pd.testing.assert_frame_equal(second, blank)
    assert (second["target"].iloc[-1], second["practice"].iloc[-1]) == ("thistle", "weeds")
    filled = blank.assign(start=blank["planned_start"], end=blank["planned_end"])
    table, _ = plans(*filled.to_dict("records"), burns=of_file, as_of="2027-11-01", season=2028)
    assert set(table["outcome"]) == {"done"}
    assert len(table) == len(blank)


def test_rows_that_stand_twice_are_in_the_book_with_the_reason():
    grazed = row("C", "graze", "2026-05-01", "2026-06-01", head=20)
    planned = row("B", "hay", "2026-07-01")
    filled_in = row("B", "hay", "2026-07-03", planned_start="2026-07-01", plan="hay:B:2026-07-01")
    told = book(grazed, grazed, planned, filled_in)
    assert told["left_out"].tolist() == [None, "doubled", "filled_in", None]


def test_a_unit_whose_days_are_not_known_is_in_the_blank_log_with_those_of_its_burn():
    days = ("2027-03-20", "2027-04-10")
    of_file = [*burn("N", "A", "B", days=days), *burn("S", "C", days=days)]
    work, future, whole = season(burns=of_file)
    days_of = ["first_day", "last_day"]
    part = work.copy()
    part.loc[part["unit_id"].isin(["B", "C"]), days_of] = pd.NaT
    no_log = keep_usable_rows(literal_layer("treatments"), UNITS)
    blank = conform(make_blank_log(part, future, no_log), LAYERS["blank_log"])
    pd.testing.assert_frame_equal(blank, whole[whole["plan"] == "burn:N"])


def test_contracts_and_owners_have_the_work_of_their_units_alone():
    records = book(
        row("A", "burn", "2025-12-30", "2026-01-02", practice="338"),
        row("B", "hay", "2026-07-20", acres_treated_ac=30),
        row("gone", "mow", "2026-07-20"),
    )
    work, future, _ = season(row("A", "mow", "2027-06-10", practice="314"))
    made = list_work_records(records, work, future, OWNED)
    told = conform(made, LAYERS["work_records"])
    assert told["standing"].to_list() == ["done", "done", "done", "planned"]
    assert told["practice"].to_list() == [None, None, "338", "314"]
    limits = literal_layer(
        "unit_limits",
        [
            {"unit_id": "A", "kind": "contract", "contract": "C-1", "note": "ask"},
            {"unit_id": "A", "kind": "easement", "note": "ask too"},
            {"unit_id": "B", "kind": "species", "note": "a butterfly"},
        ],
    )
    contracts = conform(list_contract_records(told, limits, UNITS), LAYERS["contract_records"])
    assert contracts["contract"].to_list() == ["C-1", "C-1", None, None]
    assert set(contracts["unit_id"]) == {"A"}
    assert contracts["record_ac"].to_list() == [80, 80, 80, 80]
    owners = conform(list_owner_units(OWNED, UNITS), LAYERS["owner_units"])
    assert dict(zip(owners["owner"], owners["gross_ac"], strict=True)) == {
        "Aster Land": 80,
        "Łąka; 草原": 60,
    }


def test_an_empty_log_makes_empty_layers():
    records = book()
    assert records.empty
    assert report_burns(records, UNITS).empty
    assert plans()[0].empty
    assert season()[2].empty
