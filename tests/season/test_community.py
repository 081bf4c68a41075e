"""Plant community, against an agency's metrics and hand examples on published midpoints."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.season import community
from pipeline.season.settings import CommunitySettings
from tests.literal_layers import literal_layer
from tests.made_season import square_units

HERE = Path(__file__).parents[1]
PLANTS_CSV = HERE.parent / "config" / "plants.csv"
NATIVE = {"NAT": "native"}


def measured(units, plants, species=None):
    listed = pd.read_csv(PLANTS_CSV) if species is None else pd.DataFrame(species)
    frame = community.measure_community(
        units, literal_layer("plants", plants),
        literal_layer("plant_species", listed.to_dict("records")), CommunitySettings(),
    )  # fmt: skip
    return conform(frame, LAYERS["community"], units.crs).set_index("unit_id")


def one_plant(species, **cover):
    return {"unit_id": "A", "transect": "1", "date": "2026-06-20", "species": species, **cover}


@pytest.mark.parametrize("site", ["4801", "5792", "5845"])
def test_native_cover_of_an_agency_plant_list(site):
    # USEPA/aquametNWCA test data (CC0), plots 4801 Iowa, 5792 Colorado, 5845 Montana: species
    # and relative cover of natives as the agency computed them.
    lists = pd.read_csv(HERE / "data" / "season" / "plant_lists.csv", dtype={"site": str})
    metrics = pd.read_csv(HERE / "data" / "season" / "plant_list_metrics.csv", dtype={"site": str})
    expected = metrics[metrics["site"] == site].set_index("metric")["expected"]
    rows = lists[lists["site"] == site]
    species = [{"species": r.scientific_name, "nativity": NATIVE.get(r.native_status, "introduced"),
                "source": "EPA"} for r in rows.itertuples()]  # fmt: skip
    plants = [{"unit_id": "A", "transect": "1", "date": "2011-07-01", "species": r.scientific_name,
               "cover_pct": r.mean_cover_pct} for r in rows.itertuples()]  # fmt: skip
    row = measured(square_units(A=10), plants, species).loc["A"]
    assert row["native_share_pct"] == pytest.approx(expected["XRCOV_NATSPP"], abs=0.005)
    assert row["species"] == expected["TOTN_SPP"]


FRAMES = {
    "BRIN2": "2 3 2 4 3 1 2 3 0 2", "POPR": "2 3 2 2 3 4 2 1 2 2", "PASM": "1 1 2 0 0 1 2 2 1 0",
    "ANGE": "0 2 0 1 0 0 1 3 2 0", "HEPA19": "0 0 1 0 0 1 0 1 0 0",
}  # fmt: skip


def test_ten_frames_of_the_cover_class_method():
    # Hand, on the midpoints of BLM Technical Reference 1734-4: cover 23.75, 23.0, 5.5, 7.25 and
    # 0.75, together 60.25; the three natives are 13.5 of it.
    species = [
        {"species": "BRIN2", "nativity": "introduced", "growth": "cool-season grass",
         "invader": "brome", "source": "t"},
        {"species": "POPR", "nativity": "introduced", "growth": "cool-season grass",
         "invader": "bluegrass", "source": "t"},
        {"species": "PASM", "nativity": "native", "growth": "cool-season grass", "source": "t"},
        {"species": "ANGE", "nativity": "native", "growth": "warm-season grass", "source": "t"},
        {"species": "HEPA19", "nativity": "native", "growth": "forb", "source": "t"},
    ]  # fmt: skip
    plants = [
        {"unit_id": "A", "transect": "1", "date": "2026-06-20", "frame": str(n), "species": name,
         "cover_class": code}
        for name, row in FRAMES.items() for n, code in enumerate(row.split())
    ]  # fmt: skip
    row = measured(square_units(A=10), plants, species).loc["A"]
    assert row["cover_pct"] == pytest.approx(60.25)
    assert row["native_share_pct"] == pytest.approx(100 * 13.5 / 60.25)
    assert row["cool_exotic_share_pct"] == pytest.approx(100 * 46.75 / 60.25)
    assert row["warm_grass_share_pct"] == pytest.approx(100 * 7.25 / 60.25)
    assert row["brome_part_pct"] == pytest.approx(100 * 23.75 / 46.75)


def test_modified_classes():
    # TR 1734-4, cover-board table: T is less than 1 %, midpoint 0.5.
    assert list(community.cover_of_classes_pct(pd.Series(["T", "t", " 6 "]))) == [0.5, 0.5, 97.5]


def test_class_that_the_scale_does_not_have_is_a_fault():
    plants = literal_layer("plants", [one_plant("Poa pratensis", cover_class="7")])
    assert [fault.found for fault in community.class_faults(plants)] == ['"7"']


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
    plants = [
        {"unit_id": "A", "transect": "1", "date": "2020-07-01", "species": s, "cover_pct": c}
        for s, c in (("n", native), ("b", brome), ("p", bluegrass), ("s", shrub), ("f", forb))
    ]  # fmt: skip
    species = [
        {"species": "n", "nativity": "native", "source": "t"},
        {"species": "b", "nativity": "introduced", "invader": "brome", "source": "t"},
        {"species": "p", "nativity": "introduced", "invader": "bluegrass", "source": "t"},
    ]  # fmt: skip
    row = measured(square_units(A=10), plants, species).loc["A"]
    assert row["native_share_pct"] == pytest.approx(share, abs=0.005)
    assert row["brome_part_pct"] == pytest.approx(brome_part, abs=0.05)
    # Shrubs and forbs are not in the table: unknown, never folded in.
    assert row["unknown_share_pct"] > 9
    assert row["lead_invader"] == "both"


def test_invaders_are_introduced_in_the_table_that_comes_with_the_program():
    # The national plant database has them as native and introduced at once.
    listed = pd.read_csv(PLANTS_CSV).set_index("species")
    for name in ("Bromus inermis", "Poa pratensis", "Phalaris arundinacea"):
        assert listed.loc[name, "nativity"] == "introduced"


def test_one_transect_has_no_interval_and_says_so():
    plants = [one_plant("Andropogon gerardii", cover_pct=20)]
    row = measured(square_units(A=10), plants).loc["A"]
    assert pd.isna(row["native_low_pct"])
    assert "no interval" in row["note"]


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
