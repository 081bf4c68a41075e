"""Patches: acres against pyproj's geodesic areas, distances and cuts against hand figures."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from pyproj import Geod
from shapely.affinity import rotate

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.season.plants import patches
from pipeline.season.plants.patch_findings import find_patches
from pipeline.season.plants.settings import PatchSettings
from pipeline.season.settings import CommunitySettings
from tests.literal_layers import literal_layer
from tests.made_season import M2_PER_AC, PLANE

FT = 0.3048
SQUARES = {  # B touches A in a side, C touches A in one point
    "A": shapely.box(0, 0, 400, 400),
    "B": shapely.box(400, 0, 800, 400),
    "C": shapely.box(400, 400, 800, 800),
}
TURNS = pytest.mark.parametrize("turn_deg", [0, 30, 117])


def turned(shape, turn_deg):
    return rotate(shape, turn_deg, origin=(0, 0))


def made_units(turn_deg=0):
    shapes = [turned(shape, turn_deg) for shape in SQUARES.values()]
    columns = dict.fromkeys(LAYERS["units"].column_names, 0.0)
    columns |= {"unit_id": list(SQUARES), "name": None, "cover": None}
    columns["gross_ac"] = 400 * 400 / M2_PER_AC
    frame = gpd.GeoDataFrame(columns, geometry=shapes, crs=PLANE)
    return conform(frame, LAYERS["units"], frame.crs)


def made_patches(*rows, turn_deg=0):
    """Patches from (day, shape) or (day, shape, cells)."""
    cells = [{"kind": "thistle", "date": day, **dict(*more)} for day, _, *more in rows]
    shapes = [turned(shape, turn_deg) for _, shape, *_ in rows]
    return literal_layer("patches", cells, shapes=shapes, crs=PLANE)


def measured(units, drawn, **frames):
    given = {
        "breaks": literal_layer("breaks", crs=PLANE),
        "break_credits": literal_layer("break_credits"),
        "exclusions": literal_layer("exclusions", crs=PLANE),
        "break_kinds": literal_layer("break_kinds", KINDS),
        "plants": literal_layer("plants"),
        "plant_species": literal_layer("plant_species"),
    } | frames
    frame = patches.measure_patches(units, drawn, **given, settings=CommunitySettings())
    return conform(frame, LAYERS["patch_ground"], units.crs)


KINDS = [
    {"break_kind": "stream", "words": "creek;brook", "break_class": "water", "source": "t"},
    {"break_kind": "wetland", "words": "wetland;marsh", "break_class": "water", "source": "t"},
    {"break_kind": "wet line", "words": "wet line", "break_class": "water", "source": "t"},
    {"break_kind": "road", "words": "road", "break_class": "public_road", "source": "t"},
]


def geodesic_ac(shape):
    """Area on the ellipsoid of GRS 80 by pyproj, in acres."""
    place = gpd.GeoSeries([shape], crs=PLANE).to_crs(4269).iloc[0]
    return abs(Geod(ellps="GRS80").geometry_area_perimeter(place)[0]) / M2_PER_AC


@TURNS
def test_patch_over_an_edge_is_parted_between_the_units(turn_deg):
    shape = shapely.box(380, 100, 440, 150)
    rows = measured(
        made_units(turn_deg), made_patches(("2026-06-20", shape), turn_deg=turn_deg)
    ).set_index("unit_id")
    parts = {"A": shapely.box(380, 100, 400, 150), "B": shapely.box(400, 100, 440, 150)}
    assert list(rows.index) == ["A", "B"]
    for unit, part in parts.items():
        told = geodesic_ac(turned(part, turn_deg))
        assert rows.loc[unit, "area_ac"] == pytest.approx(told, rel=1e-6)
        assert rows.loc[unit, "share_pct"] == pytest.approx(100 * part.area / 160000, rel=1e-4)
    assert rows["area_ac"].sum() == pytest.approx(geodesic_ac(turned(shape, turn_deg)), rel=1e-6)
    assert rows["over_the_edge"].all()
    assert list(rows["edge_ft"]) == pytest.approx([0, 0], abs=1e-6)


@TURNS
def test_patch_at_the_point_where_units_touch(turn_deg):
    shape = shapely.box(390, 390, 410, 410)  # a quarter in A, a quarter in C, half in B or outside
    rows = measured(made_units(turn_deg), made_patches(("2026-06-20", shape), turn_deg=turn_deg))
    assert list(rows["unit_id"]) == ["A", "B", "C"]
    assert list(rows["area_ac"]) == pytest.approx([100 / M2_PER_AC] * 3, rel=1e-4)
    # One that ends in the point, or along the side, is in A alone.
    ends = [shapely.box(390, 390, 400, 400), shapely.box(300, 100, 400, 200)]
    drawn = made_patches(*(("2026-06-20", end) for end in ends), turn_deg=turn_deg)
    assert list(measured(made_units(turn_deg), drawn)["unit_id"]) == ["A"]


@TURNS
def test_ground_of_several_patches_of_a_day_is_counted_once(turn_deg):
    one, other = shapely.box(100, 100, 140, 140), shapely.box(120, 100, 160, 140)
    drawn = made_patches(("2026-06-20", one), ("2026-06-20", other), turn_deg=turn_deg)
    row = measured(made_units(turn_deg), drawn).iloc[0]
    whole = geodesic_ac(turned(shapely.box(100, 100, 160, 140), turn_deg))
    assert row["area_ac"] == pytest.approx(whole, rel=1e-6)
    assert row["patches"] == 2
    assert row["edge_ft"] == pytest.approx(100 / FT)
    assert not row["over_the_edge"]


def test_point_is_ground_of_its_radius_and_cut_at_the_edge():
    # π r² of 50 ft is 0.18030 ac; half of it where the point stands on the outer edge.
    points = [shapely.Point(100, 200), shapely.Point(0, 300)]
    told = [("2026-06-20", point, {"radius_ft": 50}) for point in points]
    for point, share, over in zip(told, (1, 0.5), (False, True), strict=True):
        row = measured(made_units(), made_patches(point)).iloc[0]
        assert row["area_ac"] == pytest.approx(share * np.pi * 50**2 / 43560, rel=2e-4)
        assert row["over_the_edge"] == over


def test_kinds_and_days_are_told_apart_and_spellings_are_not():
    shape = shapely.box(100, 100, 140, 140)
    drawn = made_patches(
        ("2026-06-20", shape, {"kind": "Thistle"}),
        ("2026-06-20", shape, {"kind": "thistle"}),
        ("2026-08-20", shape, {"kind": "thistle"}),
        ("2026-06-20", shape, {"kind": "spurge"}),
    )
    rows = measured(made_units(), drawn)
    told = list(zip(rows["kind"], rows["date"].dt.month, rows["visit"], strict=True))
    assert told == [("Thistle", 6, 1), ("Thistle", 8, 2), ("spurge", 6, 1)]


def test_years_count_all_that_was_seen_in_the_year_once():
    # Hand: 40 × 40 m in 2024; in 2026 60 × 40 m in June and 20 m beside it in July: 80 × 40 m.
    drawn = made_patches(
        ("2024-06-20", shapely.box(100, 100, 140, 140)),
        ("2026-06-20", shapely.box(100, 100, 160, 140)),
        ("2026-07-20", shapely.box(140, 100, 180, 140)),
    )
    units = made_units()
    rows = conform(patches.count_patch_years(units, measured(units, drawn)), LAYERS["patch_years"])
    assert list(rows["year"]) == [2024, 2026]
    assert list(rows["visits"]) == [1, 2]
    assert list(rows["area_ac"]) == pytest.approx([1600 / M2_PER_AC, 3200 / M2_PER_AC], rel=1e-4)
    assert rows["before_year"].iloc[1] == 2024
    assert rows["growth_pct"].iloc[1] == pytest.approx(100, abs=0.01)
    assert pd.isna(rows["growth_pct"].iloc[0])


def test_distance_to_water_goes_to_its_bank_and_a_road_is_no_water():
    # Hand: the creek's line runs 60 m east of the patch and is 20 ft wide: 60 m less 10 ft.
    lines = [
        shapely.LineString([(200, -50), (200, 500)]),
        shapely.LineString([(145, 100), (145, 140)]),
    ]
    keys = [{"source_id": 1, "source_row": n} for n in (1, 2)]
    kinds = ({"kind": "Mill Creek", "width_ft": 20}, {"kind": "county road", "width_ft": 20})
    breaks = literal_layer(
        "breaks", [k | c for k, c in zip(keys, kinds, strict=True)], shapes=lines, crs=PLANE
    )
    credited = literal_layer(
        "break_credits",
        [
            key | {"kind": "x", "break_kind": kind, "serves": True}
            for key, kind in zip(keys, ("stream", "road"), strict=True)
        ],
    )
    drawn = made_patches(("2026-06-20", shapely.box(100, 100, 140, 140)))
    row = measured(made_units(), drawn, breaks=breaks, break_credits=credited).iloc[0]
    assert row["water_ft"] == pytest.approx(60 / FT - 10)
    assert row["water"] == "Mill Creek"
    marsh = literal_layer(
        "exclusions",
        [{"exclusion_id": 1, "kind": "Marsh", "applies_to": "both"}],
        shapes=[shapely.box(100, 150, 140, 160)],
        crs=PLANE,
    )
    row = measured(made_units(), drawn, exclusions=marsh).iloc[0]
    assert (row["water_ft"], row["water"]) == (pytest.approx(10 / FT), "Marsh")
    assert pd.isna(measured(made_units(), drawn)["water_ft"].iloc[0])


NATIVE = {"species": "Dalea purpurea", "nativity": "native", "source": "t"}
BROME = {"species": "Bromus inermis", "nativity": "introduced", "source": "t"}


def record(species, x, y, cover_pct=4):
    at = gpd.GeoSeries([shapely.Point(x, y)], crs=PLANE).to_crs(4326).iloc[0]
    place = {} if x is None else {"latitude_deg": at.y, "longitude_deg": at.x}
    row = {"unit_id": "A", "transect": "1", "date": "2026-06-20", "species": species}
    return row | {"cover_pct": cover_pct, **place}


@pytest.mark.parametrize(
    ("records", "told", "natives", "names"),
    [
        ([record("Dalea purpurea", 110, 110)], "recorded", 1, "Dalea purpurea"),
        ([record("Bromus inermis", 110, 110)], "none_recorded", 0, None),
        ([record("Dalea purpurea", 300, 300)], "none_recorded", None, None),
        ([record("Dalea purpurea", 110, 110, 0)], "no_places", None, None),
        ([], "no_places", None, None),
    ],
)
def test_natives_within_are_told_where_records_have_a_place(records, told, natives, names):
    drawn = made_patches(("2026-06-20", shapely.box(100, 100, 140, 140)))
    row = measured(
        made_units(),
        drawn,
        plants=literal_layer("plants", records),
        plant_species=literal_layer("plant_species", [NATIVE, BROME]),
    ).iloc[0]
    assert row["natives_told"] == told
    assert (None if pd.isna(row["natives"]) else row["natives"]) == natives
    assert row["native_names"] == names


def codes(units, drawn, ground=None):
    ground = measured(units, drawn) if ground is None else ground
    return find_patches(units, drawn, ground, PatchSettings())


def test_nothing_drawn_nothing_found_and_no_layer():
    units, none = made_units(), literal_layer("patches", crs=PLANE)
    ground = measured(units, none)
    assert ground.empty
    assert patches.count_patch_years(units, ground).empty
    assert codes(units, none).empty


def test_ground_outside_all_units_is_told():
    drawn = made_patches(
        ("2026-06-20", shapely.box(-100, 100, -60, 140)),
        ("2026-06-20", shapely.box(-20, 100, 20, 140)),
        ("2026-06-20", shapely.box(380, 100, 420, 140)),
    )
    found = codes(made_units(), drawn).set_index("code")["message"]
    assert "1 patches lie in no unit and count nowhere (rows 1)" in found["patches_outside"]
    # Hand: 20 × 40 m are 0.198 ac.
    assert "0.20 ac there count nowhere" in found["patches_partly_outside"]


def test_cautions_of_the_newest_visit_and_no_word_of_spraying():
    near_edge = shapely.box(5, 100, 45, 140)
    drawn = made_patches(("2024-06-20", shapely.box(100, 100, 140, 140)), ("2026-06-20", near_edge))
    units = made_units()
    ground = measured(
        units,
        drawn,
        plants=literal_layer("plants", [record("Dalea purpurea", 20, 110)]),
        plant_species=literal_layer("plant_species", [NATIVE]),
    )
    found = codes(units, drawn, ground).set_index("code")["message"]
    assert set(found.index) == {"patch_near_the_edge", "natives_in_patch", "patch_law"}
    assert "16 ft" in found["patch_near_the_edge"]  # 5 m
    assert "Dalea purpurea" in found["natives_in_patch"]
    assert "lost" in found["natives_in_patch"]
    assert "no treatment is suggested" in found["patch_law"]
    assert not any("spray" in message for message in found)


def test_kind_that_the_newest_year_has_nothing_of_is_told():
    drawn = made_patches(
        ("2024-06-20", shapely.box(100, 100, 140, 140), {"kind": "spurge"}),
        ("2026-06-20", shapely.box(100, 100, 140, 140)),
    )
    found = codes(made_units(), drawn)
    told = found[found["code"] == "patch_not_seen_lately"]["message"].item()
    assert told == "spurge was last recorded in 2024: gone, or not looked at"


@pytest.mark.parametrize(
    ("shape", "radius_ft", "found"),
    [
        (shapely.LineString([(0, 0), (9, 9)]), 20, "lines"),
        (shapely.Point(3, 3), None, "points without a radius"),
        (shapely.Point(3, 3), 0, "points without a radius"),
    ],
)
def test_patch_without_ground_is_a_fault(shape, radius_ft, found):
    drawn = made_patches(
        ("2026-06-20", shapely.box(0, 0, 9, 9)), ("2026-06-20", shape, {"radius_ft": radius_ft})
    )
    faults = patches.patch_faults(drawn)
    assert [fault.found for fault in faults] == [found]
    assert "patches 2" in faults[0].where
    assert not patches.patch_faults(drawn.iloc[:1])
