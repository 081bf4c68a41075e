"""Plant community, against an agency's metrics and hand examples on published midpoints."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.season.plants import community, surveys
from pipeline.season.settings import CommunitySettings
from tests.literal_layers import literal_layer
from tests.made_season import square_units

HERE = Path(__file__).parents[1]
PLANTS_CSV = HERE.parent / "config" / "plants.csv"
NATIVE = {"NAT": "native"}


def measured(units, plants, species=None):
    table = pd.read_csv(PLANTS_CSV) if species is None else pd.DataFrame(species)
    frame = community.measure_community(
        units,
        literal_layer("plants", plants),
        literal_layer("plant_species", table.to_dict("records")),
        CommunitySettings(),
    )
    return conform(frame, LAYERS["community"], units.crs).set_index("unit_id")


def one_plant(species, **cover):
    return {"unit_id": "A", "transect": "1", "date": "2026-06-20", "species": species, **cover}


def listed(species, nativity, growth=None, invader=None):
    """A row of the table of plants."""
    row = {"species": species, "nativity": nativity, "growth": growth, "invader": invader}
    return row | {"source": "t"}


@pytest.mark.parametrize("site", ["4801", "5792", "5845"])
def test_native_cover_of_an_agency_plant_list(site):
    # USEPA/aquametNWCA test data (CC0), plots 4801 Iowa, 5792 Colorado, 5845 Montana: species
    # and relative cover of natives as the agency computed them.
    lists = pd.read_csv(HERE / "data" / "season" / "plant_lists.csv", dtype={"site": str})
    metrics = pd.read_csv(HERE / "data" / "season" / "plant_list_metrics.csv", dtype={"site": str})
    expected = metrics[metrics["site"] == site].set_index("metric")["expected"]
    rows = lists[lists["site"] == site]
    species = [
        listed(r.scientific_name, NATIVE.get(r.native_status, "introduced"))
        for r in rows.itertuples()
    ]
    plants = [one_plant(r.scientific_name, cover_pct=r.mean_cover_pct) for r in rows.itertuples()]
    row = measured(square_units(A=10), plants, species).loc["A"]
    assert row["native_share_pct"] == pytest.approx(expected["XRCOV_NATSPP"], abs=0.005)
    assert row["species"] == expected["TOTN_SPP"]


FRAMES = {
    "BRIN2": "2 3 2 4 3 1 2 3 0 2",
    "POPR": "2 3 2 2 3 4 2 1 2 2",
    "PASM": "1 1 2 0 0 1 2 2 1 0",
    "ANGE": "0 2 0 1 0 0 1 3 2 0",
    "HEPA19": "0 0 1 0 0 1 0 1 0 0",
}


def test_ten_frames_of_the_cover_class_method():
    # Hand, on the midpoints of BLM Technical Reference 1734-4: cover 23.75, 23.0, 5.5, 7.25 and
    # 0.75, together 60.25; the three natives are 13.5 of it.
    species = [
        listed("BRIN2", "introduced", "cool-season grass", "brome"),
        listed("POPR", "introduced", "cool-season grass", "bluegrass"),
        listed("PASM", "native", "cool-season grass"),
        listed("ANGE", "native", "warm-season grass"),
        listed("HEPA19", "native", "forb"),
    ]
    plants = [
        one_plant(name, frame=str(n), cover_class=code)
        for name, row in FRAMES.items()
        for n, code in enumerate(row.split())
    ]
    row = measured(square_units(A=10), plants, species).loc["A"]
    assert row["cover_pct"] == pytest.approx(60.25)
    assert row["native_share_pct"] == pytest.approx(100 * 13.5 / 60.25)
    assert row["cool_exotic_share_pct"] == pytest.approx(100 * 46.75 / 60.25)
    assert row["warm_grass_share_pct"] == pytest.approx(100 * 7.25 / 60.25)
    assert row["brome_part_pct"] == pytest.approx(100 * 23.75 / 46.75)


def test_modified_classes():
    # TR 1734-4, cover-board table: T is less than 1 %, midpoint 0.5.
    assert list(surveys.cover_of_classes_pct(pd.Series(["T", "t", " 6 "]))) == [0.5, 0.5, 97.5]


def test_class_that_the_scale_does_not_have_is_a_fault():
    plants = literal_layer("plants", [one_plant("Poa pratensis", cover_class="7")])
    assert [fault.found for fault in surveys.class_faults(plants)] == ['"7"']


@pytest.mark.parametrize(
    ("native", "brome", "bluegrass", "shrub", "forb", "share", "brome_part"),
    [
        # Cover of Table 1, Ecological Restoration 42(1), 2024 (after Grant et al.): full area,
        # Dakota, Drift; the shares follow by arithmetic.
        (24.8, 29.2, 25.4, 10.3, 0.1, 27.62, 53.5),
        (27.6, 22.8, 25.9, 16.5, 3.8, 28.57, 46.8),
        (20.4, 28.1, 20.0, 22.8, 8.2, 20.50, 58.4),
    ],
)
def test_shares_of_the_published_baseline(native, brome, bluegrass, shrub, forb, share, brome_part):
    covers = {"n": native, "b": brome, "p": bluegrass, "s": shrub, "f": forb}
    plants = [one_plant(name, cover_pct=cover) for name, cover in covers.items()]
    species = [
        listed("n", "native"),
        listed("b", "introduced", invader="brome"),
        listed("p", "introduced", invader="bluegrass"),
    ]
    row = measured(square_units(A=10), plants, species).loc["A"]
    assert row["native_share_pct"] == pytest.approx(share, abs=0.005)
    assert row["brome_part_pct"] == pytest.approx(brome_part, abs=0.05)
    # Shrubs and forbs are not in the table: unknown, never folded in.
    assert row["unknown_share_pct"] > 9
    assert row["native_may_be_more"] == (row["unknown_share_pct"] > 10)
    assert row["lead_invader"] == "both"


def test_invaders_are_introduced_in_the_table_that_comes_with_the_program():
    # The national plant database has them as native and introduced at once.
    table = pd.read_csv(PLANTS_CSV).set_index("species")
    for name in ("Bromus inermis", "Poa pratensis", "Phalaris arundinacea"):
        assert table.loc[name, "nativity"] == "introduced"


@pytest.mark.parametrize(
    ("transects", "interval"),
    [(1, "one_transect"), (2, "rests_on_two_transects"), (3, "rests_on_three_or_more")],
)
def test_interval_says_what_it_rests_on(transects, interval):
    plants = [
        one_plant(name, cover_pct=cover + n) | {"transect": str(n)}
        for n in range(transects)
        for name, cover in (("Andropogon gerardii", 20), ("Bromus inermis", 30))
    ]
    row = measured(square_units(A=10), plants).loc["A"]
    assert row["interval"] == interval
    assert pd.isna(row["native_low_pct"]) == (transects == 1)


def test_interval_cut_off_at_the_end_of_the_scale_says_so():
    plants = [one_plant("Andropogon gerardii", cover_pct=20) | {"transect": t} for t in "12"]
    row = measured(square_units(A=10), plants).loc["A"]
    assert row["native_high_pct"] == 100
    assert row["interval_cut"]


def test_transects_are_the_sample_not_their_frames():
    # Hand: natives 20, 30 and 40 of 50 on three transects of two frames each: 60 %, standard error
    # 100 × 10 ÷ √3 ÷ 50 = 11.547, t(2) 4.303, so 60 ± 49.68.
    plants = [
        one_plant(name, frame=frame, cover_pct=cover) | {"transect": transect}
        for transect, native in (("1", 20), ("2", 30), ("3", 40))
        for frame in "ab"
        for name, cover in (("Andropogon gerardii", native), ("Bromus inermis", 50 - native))
    ]
    row = measured(square_units(A=10), plants).loc["A"]
    assert (row["transects"], row["cover_pct"]) == (3, 50)
    assert row["native_low_pct"] == pytest.approx(60 - 49.68, abs=0.01)


def test_bare_ground_is_no_plant_cover():
    # Shares are of the plant cover: 20 native and 20 brome on ground that is 60 % bare are halves.
    plants = [
        one_plant("Andropogon gerardii", cover_pct=20),
        one_plant("Bromus inermis", cover_pct=20),
    ]
    row = measured(square_units(A=10), plants).loc["A"]
    assert (row["native_share_pct"], row["cover_pct"]) == (50, 40)


def test_interval_of_a_ratio_with_equal_wholes_is_that_of_the_mean():
    # With every transect at 100 % the ratio is the mean: 25.75 ± 4.849 (t with 7 degrees).
    parts = np.array([22, 31, 18, 27, 35, 24, 29, 20.0])
    low, high = community.ratio_interval(parts, np.full(8, 100.0), 95)
    assert (low, high) == (pytest.approx(0.2090, abs=1e-4), pytest.approx(0.3060, abs=1e-4))


@given(st.lists(st.tuples(st.floats(0, 90), st.floats(0.1, 90)), min_size=2, max_size=8))
def test_interval_holds_the_ratio_and_stays_within_bounds(pairs):
    parts = np.array([a for a, _ in pairs])
    wholes = parts + np.array([b for _, b in pairs])
    low, high = community.ratio_interval(parts, wholes, 95)
    assert 0 <= low <= community.ratio_of_sums(parts, wholes) + 1e-12
    assert community.ratio_of_sums(parts, wholes) - 1e-12 <= high <= 1


def dated(day, *covers, transect="1"):
    return [
        {"unit_id": "A", "transect": transect, "date": day, "species": name, "cover_pct": cover}
        for name, cover in covers
    ]


def test_surveys_of_one_summer_are_not_added_up():
    # Hand: 60 + 23.5 % in June and again in July stay 83.5 % each, and neither is 167 %.
    covers = (("Andropogon gerardii", 60), ("Poa pratensis", 23.5))
    plants = [*dated("2026-06-20", *covers), *dated("2026-07-24", *covers)]
    frame = measured(square_units(A=10), plants)
    assert list(frame["date"].dt.month) == [6, 7]
    assert list(frame["cover_pct"]) == [83.5, 83.5]
    assert list(frame["transects"]) == [1, 1]


def test_survey_of_two_days_is_one_where_the_user_says_so_and_no_transect_is_read_twice():
    plants = [
        *dated("2026-06-20", ("Poa pratensis", 20)),
        *dated("2026-06-21", ("Poa pratensis", 40), transect="2"),
        *dated("2026-06-22", ("Poa pratensis", 30)),
    ]
    told = literal_layer("plants", plants)
    for most_days, days in ((0, [20, 21, 22]), (1, [21, 21, 22])):
        assert list(surveys.survey_days(told, most_days).dt.day) == days


def test_litter_and_bare_ground_are_no_plants():
    plants = dated(
        "2026-06-20",
        ("Andropogon gerardii", 30),
        ("Bromus inermis", 10),
        ("Litter", 60),
        ("bare-ground", 15),
        ("Rock", 2),
    )
    row = measured(square_units(A=10), plants).loc["A"]
    assert (row["cover_pct"], row["native_share_pct"], row["species"]) == (40, 75, 2)
    assert row["unknown_share_pct"] == 0


def test_transect_with_nothing_but_litter_is_part_of_the_sample():
    plants = [
        *dated("2026-06-20", ("Andropogon gerardii", 30)),
        *dated("2026-06-20", ("litter", 80), transect="2"),
    ]
    row = measured(square_units(A=10), plants).loc["A"]
    assert (row["transects"], row["cover_pct"]) == (2, 15)


@pytest.mark.parametrize("site", ["4801", "5792", "5845"])
def test_mean_c_of_an_agency_plant_list(site):
    # USEPA/aquametNWCA test data (CC0): mean C of the native species, to the hundredth.
    lists = pd.read_csv(HERE / "data" / "season" / "plant_lists.csv", dtype={"site": str})
    metrics = pd.read_csv(HERE / "data" / "season" / "plant_list_metrics.csv", dtype={"site": str})
    expected = metrics[metrics["site"] == site].set_index("metric")["expected"]
    rows = lists[lists["site"] == site]
    species = [
        listed(r.scientific_name, NATIVE.get(r.native_status, "introduced"))
        | {"coefficient_of_conservatism": None if pd.isna(r.C) else r.C, "c_list": "2011"}
        for r in rows.itertuples()
    ]
    plants = [one_plant(r.scientific_name, cover_pct=r.mean_cover_pct) for r in rows.itertuples()]
    row = measured(square_units(A=10), plants, species).loc["A"]
    assert row["mean_c_native"] == pytest.approx(expected["XC_NAT"], abs=0.006)


def test_mean_c_is_not_taken_without_a_list_or_over_two():
    rated = [listed(name, "native") | {"coefficient_of_conservatism": c} for name, c in RATED]
    plants = [one_plant(name, cover_pct=5) for name, _ in RATED]
    lists = [("a", "a"), ("a", "b"), ("a", None)]
    means = [
        measured(
            square_units(A=10),
            plants,
            [row | {"c_list": name} for row, name in zip(rated, names, strict=True)],
        ).loc["A", "mean_c_native"]
        for names in lists
    ]
    assert means[0] == 5.0
    assert pd.isna(means[1:]).all()
    assert pd.isna(measured(square_units(A=10), plants).loc["A", "mean_c_native"])


RATED = (("Andropogon gerardii", 3.0), ("Dalea purpurea", 7.0))
