"""Findings of the season: every row left out is told, and every run carries its caution."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.season.findings import find_season
from tests.literal_layers import literal_layer
from tests.made_season import PLANE, log, square_units

ORDER = ("treatment_log", "clips", "burned_areas", "fuel", "fire_history", "herd_balance",
         "plants", "plant_species", "season_plan")  # fmt: skip


def found(**frames):
    units = square_units(A=80)
    given = [frames.get(name, empty(LAYERS[name], units.crs)) for name in ORDER]
    findings = conform(find_season(units, *given), LAYERS["season_findings"])
    return findings.set_index("severity")["message"]


def fuel_row(**columns):
    units = square_units(A=80)
    row = dict.fromkeys(LAYERS["fuel"].column_names) | {
        "unit_id": "A", "carries": "yes", "continuity": "even", "reason": "r", **columns,
    }  # fmt: skip
    frame = gpd.GeoDataFrame([row], geometry=list(units.geometry), crs=units.crs)
    return conform(frame, LAYERS["fuel"], units.crs)


def test_nothing_given_nothing_found():
    assert found().empty


@pytest.mark.parametrize(
    ("row", "words"),
    [({"green_g": 80}, "needs dry_g"), ({"dry_g": 5, "bag_g": 9}, "heavier than the whole")],
)
def test_plot_without_a_weight_is_told(row, words):
    clips = literal_layer("clips", [{"unit_id": "A", "date": "2026-10-01", "frame_sqft": 1, **row}])
    assert words in found(clips=clips)["warning"]


def test_burned_ground_without_its_burn_is_told():
    areas = gpd.GeoDataFrame({"unit_id": ["A"], "date": [pd.Timestamp("2024-04-10")]},
                             geometry=[shapely.box(0, 0, 9, 9)], crs=PLANE)  # fmt: skip
    areas = conform(areas, LAYERS["burned_areas"])
    assert "no burn of this unit and day" in found(burned_areas=areas)["warning"]
    burned = log({"unit_id": "A", "start": "2024-04-10", "kind": "burn"})
    assert found(burned_areas=areas, treatment_log=burned).empty


def test_conflict_and_heavy_load_are_told_with_the_caution():
    fuel = fuel_row(conflicts="nesting season", burn_until=pd.Timestamp("2027-05-20"),
                    load_class="heavy: look at the widths of the breaks again")  # fmt: skip
    told = found(fuel=fuel)
    assert "burn window meets: nesting season" in set(told["warning"])
    assert any("widths of the breaks" in message for message in told["warning"])
    assert "no permission to light anything" in told["note"]


def test_plant_that_is_not_listed_is_told():
    plant = {"unit_id": "A", "transect": "1", "date": "2026-06-20", "cover_pct": 4}
    plants = literal_layer("plants", [{**plant, "species": "Ambiguus herbus"}])
    assert "Ambiguus herbus" in found(plants=plants)["warning"]
