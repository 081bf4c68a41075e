"""What came up and how it changed, against frequency by hand and intervals of scipy."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.season.facts import gather_facts
from pipeline.season.options.settings import AimsSettings
from pipeline.season.plants import changes, cover
from pipeline.season.settings import CommunitySettings
from tests.literal_layers import literal_layer
from tests.made_season import fuel_rows, log, property_row, square_units, unit_rows
from tests.season.test_community import PLANTS_CSV, dated, measured

SPECIES = pd.read_csv(PLANTS_CSV, dtype=object)
PLACE = property_row(state="Nebraska")
NO_LOG = literal_layer("treatment_log")


def table(name, plants, treatment_log=NO_LOG, place=PLACE, **settings):
    given = [literal_layer("plants", plants), literal_layer("plant_species", LISTED)]
    chosen = CommunitySettings(**settings)
    frame = {
        "plant_cover": lambda: cover.list_plant_cover(*given, place, chosen),
        "plant_groups": lambda: cover.sum_plant_groups(*given, place, chosen),
        "plant_changes": lambda: changes.compare_plant_surveys(
            *given, treatment_log, place, chosen
        ),
    }[name]()
    return conform(frame, LAYERS[name])


LISTED = SPECIES.astype(object).where(SPECIES.notna(), None).to_dict("records")


def on(day, transect, frame=None, **covers):
    names = {"bluestem": "big bluestem", "brome": "smooth brome", "bare": "bare ground"}
    rows = dated(day, *((names.get(n, n), c) for n, c in covers.items()), transect=transect)
    return [row | {"frame": frame} for row in rows]


def test_cover_and_frequency_of_the_ten_frames():
    # Hand, BLM Technical Reference 1734-4: frequency is frames with the species of all frames;
    # classes 0 and absence both count as not there.
    classes = {"BRIN2": "2324312302", "PASM": "1120012210", "HEPA19": "0010010100"}
    plants = [
        {"unit_id": "A", "transect": "1", "date": "2026-06-20", "frame": str(n)}
        | {"species": name, "cover_class": code}
        for name, codes in classes.items()
        for n, code in enumerate(codes)
    ]
    rows = table("plant_cover", plants).set_index("species")
    assert list(rows["frequency_pct"]) == [90, 70, 30]
    assert list(rows["frequency_of"].unique()) == ["frames"]
    assert rows.loc["Bromus inermis", "cover_pct"] == pytest.approx(23.75)
    assert rows.loc["Helianthus pauciflorus", "cover_pct"] == pytest.approx(0.75)
    assert rows.loc["Pascopyrum smithii", "group"] == "native_cool_grass"
    assert rows.loc["Pascopyrum smithii", "told_as"] == "PASM"
    # Two natives of one group in other frames: the group stands in each frame that has one.
    forbs = table("plant_groups", plants).set_index("group")
    assert forbs.loc["native_forb", "frequency_pct"] == 30


def test_transect_without_a_species_counts_as_none_of_it():
    plants = [*on("2026-06-20", "1", bluestem=30), *on("2026-06-20", "2", brome=20)]
    row = table("plant_cover", plants).set_index("species").loc["Andropogon gerardii"]
    assert (row["cover_pct"], row["transects"], row["transects_with"]) == (15, 2, 1)
    assert (row["frequency_pct"], row["frequency_of"]) == (50, "transects")


@pytest.mark.parametrize(
    ("name", "state", "group"),
    [
        ("side-oats grama", "Nebraska", "native_warm_grass"),
        ("western ragweed", "Nebraska", "native_forb"),
        ("purple prairie clover", "Nebraska", "native_legume"),
        ("needleleaf sedge", "Nebraska", "native_sedge"),
        ("eastern red cedar", "Nebraska", "woody"),
        ("Russian olive", "Nebraska", "woody"),
        ("Kentucky blue-grass", "Nebraska", "exotic_cool_grass"),
        ("dandelion", "Nebraska", "other_introduced"),
        ("yellow sweetclover", "Nebraska", "other_introduced"),
        ("Canada thistle", "Nebraska", "noxious"),
        ("sericea lespedeza", "Nebraska", "noxious"),
        ("sericea lespedeza", "South Dakota", "other_introduced"),
        ("absinth wormwood", "South Dakota", "noxious"),
        ("Canada thistle", None, "other_introduced"),
        ("thatch", "Nebraska", "litter"),
        ("Bare Soil", "Nebraska", "bare"),
        ("some herb", "Nebraska", "unknown"),
    ],
)
def test_group_of_a_plant_by_its_common_name(name, state, group):
    # Lists: Nebraska Weed Control Association; South Dakota Association of County Weed and Pest
    # Boards. Kinds of plants: USDA PLANTS.
    rows = table("plant_cover", on("2026-06-20", "1", **{name: 5}), place=property_row(state=state))
    assert list(rows["group"]) == [group]


BEFORE, AFTER = [20.0, 31, 18, 27], [26.0, 30, 25, 38]


def paired_plants():
    """Big bluestem on four transects of both surveys, and one of each survey alone."""
    both = [
        row
        for n, (then, now) in enumerate(zip(BEFORE, AFTER, strict=True))
        for row in (
            *on("2024-06-18", str(n), bluestem=then),
            *on("2026-06-23", str(n), bluestem=now),
        )
    ]
    return [*both, *on("2024-06-18", "old", bluestem=90), *on("2026-06-23", "new", brome=70)]


def test_change_is_paired_on_the_transects_of_both_surveys():
    rows = table("plant_changes", paired_plants())
    assert list(rows["group"].unique()) == ["native_warm_grass"]  # brome stands on no pair
    row = rows[rows["species"] == "Andropogon gerardii"].iloc[0]
    told = stats.ttest_rel(AFTER, BEFORE).confidence_interval(0.95)
    assert row["transects"] == 4
    assert row["change_pct"] == pytest.approx(np.mean(AFTER) - np.mean(BEFORE))
    assert row["change_low_pct"] == pytest.approx(told.low, rel=1e-9)
    assert row["change_high_pct"] == pytest.approx(told.high, rel=1e-9)
    assert row["before_cover_pct"] == np.mean(BEFORE)


@given(st.lists(st.floats(-80, 80), min_size=2, max_size=9))
def test_interval_of_paired_differences_is_that_of_a_t_test(values):
    ours = changes.paired_change(np.array(values), 90)
    error = stats.sem(values)
    half = stats.t.ppf(0.95, len(values) - 1) * error
    assert ours["change_low_pct"] == pytest.approx(np.mean(values) - half, rel=1e-6, abs=1e-6)
    assert ours["change_high_pct"] == pytest.approx(np.mean(values) + half, rel=1e-6, abs=1e-6)


def test_interval_of_a_group_is_that_of_the_mean_of_its_transects():
    plants = [row for n, c in enumerate(AFTER) for row in on("2026-06-23", str(n), bluestem=c)]
    row = table("plant_groups", plants).iloc[0]
    low, high = stats.t.interval(0.95, 3, np.mean(AFTER), stats.sem(AFTER))
    assert (row["cover_low_pct"], row["cover_high_pct"]) == pytest.approx((low, high))


def test_one_transect_has_a_change_and_no_interval():
    plants = [*on("2024-06-18", "1", bluestem=20), *on("2026-06-20", "1", bluestem=26)]
    row = table("plant_changes", plants).iloc[0]
    assert row["change_pct"] == 6
    assert pd.isna(row["change_low_pct"])


def test_june_is_not_held_against_august_nor_against_july_of_the_year():
    days = ["2024-06-18", "2025-08-11", "2026-06-23", "2026-07-10"]
    plants = [row for day in days for row in on(day, "1", bluestem=20)]
    pairs = table("plant_changes", plants).drop_duplicates(["date", "before"])
    told = [(f"{r.date:%m-%d}", f"{r.before:%Y-%m-%d}") for r in pairs.itertuples()]
    assert told == [("06-23", "2024-06-18"), ("07-10", "2024-06-18")]


def test_turn_of_the_year_is_no_distance():
    assert changes.is_same_time(pd.Timestamp("2024-12-20"), pd.Timestamp("2026-01-05"), 31)


def test_first_seen_and_not_seen_again_around_a_burn():
    plants = [
        *on("2022-06-18", "1", bluestem=9, dandelion=1),
        *on("2024-06-18", "1", bluestem=9, brome=30, **{"musk thistle": 2}),
        *on("2025-06-18", "1", bluestem=9, dandelion=1, **{"lead plant": 3}),
        *on("2026-06-18", "1", bluestem=9, **{"musk thistle": 2}),
    ]
    burns = log(
        {"unit_id": "A", "start": "2025-04-14", "end": "2025-04-14", "kind": "burn"},
        {"unit_id": "B", "start": "2025-05-01", "end": "2025-05-01", "kind": "burn"},
    )
    rows = table("plant_changes", plants, burns)
    year = rows[(rows["date"].dt.year == 2025) & rows["species"].notna()].set_index("species")
    assert year["seen"].to_dict() == {
        "Andropogon gerardii": "both_times",
        "Bromus inermis": "not_seen_again",
        "Carduus nutans": "not_seen",
        "Taraxacum officinale": "seen_again",
        "Amorpha canescens": "first_seen",
    }
    assert list(year["burned"].unique()) == ["2025-04-14"]
    assert rows.loc[rows["date"].dt.year == 2026, "burned"].isna().all()


def test_season_takes_the_newest_survey_of_the_summer():
    units = square_units(A=10)
    plants = [*dated("2026-06-20", ("Poa pratensis", 20), ("Andropogon gerardii", 20))]
    plants += dated("2026-08-11", ("Poa pratensis", 5), ("Andropogon gerardii", 15))
    of_unit = [{"unit_id": "A"}]
    facts = gather_facts(
        units,
        unit_rows("history", units, record="none_on_record"),
        literal_layer("past_work", of_unit),
        literal_layer("unwanted", of_unit),
        literal_layer("road", crs=units.crs),
        fuel_rows(units),
        literal_layer("greenness", crs=units.crs),
        measured(units, plants).reset_index(),
        *(literal_layer(name) for name in ("unit_limits", "burns", "seedings")),
        AimsSettings(),
    )
    assert facts["native_share_pct"].item() == 75
