"""The sample property: made again the same, and a run finds what was put into it.

There is no outside source here: the truth is known because the ground was made. Areas are taken
in the generator's own equal-area plane, the effect of the burn and the ground it burned are the
generator's constants.
"""

import itertools
import sys
import tomllib
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely
from pandas.testing import assert_frame_equal

PROJECT = Path(__file__).parent.parent
SAMPLE = PROJECT / "sample_geo"
PROPERTY_FILE = SAMPLE / "larkspindle_prairie.toml"
M2_PER_AC = 43560 * 0.3048**2

sys.path.insert(0, str(SAMPLE))  # the generator is a script, not a package

import make_sample  # noqa: E402
from recipe import ground, heights, scenes  # noqa: E402

from pipeline.catalog import LAYERS, chosen_settings  # noqa: E402
from pipeline.core.layer import empty  # noqa: E402
from pipeline.runner import read_property, step_layer  # noqa: E402
from pipeline.season.road.layers import STATES  # noqa: E402
from pipeline.steps import STEPS  # noqa: E402


@pytest.fixture(scope="module")
def made_again(tmp_path_factory):
    folder = tmp_path_factory.mktemp("made_again")
    make_sample.write_sample(folder)
    return folder


def test_every_computed_file_is_made_again_the_same(made_again):
    made = sorted(path.name for path in made_again.iterdir())
    typed = {"mixes.csv", "seed_lots.csv", "harvests.csv", "treatments.csv", "unit_limits.csv"}
    typed |= {"phenology.csv"}
    stored = {path.name for path in SAMPLE.iterdir() if path.is_file()}
    assert stored - set(made) == typed | {"make_sample.py", "picture.png", PROPERTY_FILE.name}
    for name in made:
        old, new = SAMPLE / name, made_again / name
        if old.suffix == ".tif":
            # The air photo is JPEG, which versions of its library round by a step or two.
            assert_same_raster(old, new, steps=2 if name.startswith("air_photo") else 0)
        elif old.suffix == ".csv":
            assert old.read_text("utf-8") == new.read_text("utf-8"), name
        elif old.suffix in {".shp", ".geojson", ".kml"}:
            assert_same_map(gpd.read_file(old), gpd.read_file(new))


def assert_same_map(old, new):
    # PROJ 9.5 and 9.8 place a point 0.8 mm apart, so the last digit that is stored may differ by
    # one: 0.01 m, or 0.0000001 degrees.
    last_digit = 1e-7 if old.crs.is_geographic else 0.01
    assert_frame_equal(old.drop(columns="geometry"), new.drop(columns="geometry"))
    assert list(shapely.get_num_coordinates(old.geometry)) == list(
        shapely.get_num_coordinates(new.geometry)
    )
    points, again = (shapely.get_coordinates(frame.geometry) for frame in (old, new))
    assert np.abs(points - again).max() < 1.5 * last_digit


def assert_same_raster(old, new, steps):
    with rasterio.open(old) as first, rasterio.open(new) as second:
        assert first.profile == second.profile
        assert first.scales == second.scales
        off = np.abs(first.read().astype(float) - second.read())
        assert off.mean() <= steps, old.name


def test_date_in_the_headers_of_the_tables_is_fixed(made_again):
    # Bytes 1 to 3 of a .dbf: date of the last change, year counted from 1900.
    for path in [*SAMPLE.glob("*.dbf"), *made_again.glob("*.dbf")]:
        assert path.read_bytes()[1:4] == bytes([126, 11, 2]), path


def test_files_are_small():
    # What a run wrote beside them, in `out`, is not the sample's.
    beside = {"out", "__pycache__"}
    files = [
        path
        for path in SAMPLE.rglob("*")
        if path.is_file() and not beside.intersection(path.relative_to(SAMPLE).parts)
    ]
    assert len(files) > 30
    assert sum(path.stat().st_size for path in files) < 1_500_000
    assert max(path.stat().st_size for path in SAMPLE.glob("*.tif")) < 150_000


def test_property_lies_across_the_edge_of_two_utm_zones_and_the_fortieth_parallel():
    west, south, east, north = gpd.read_file(SAMPLE / "units.shp").to_crs(4326).total_bounds
    assert west < -96 < east
    assert south < 40 < north


def test_unit_file_has_the_troubles_it_is_meant_to_have():
    units = gpd.read_file(SAMPLE / "units.shp").set_index("UNIT")
    assert 10 <= len(units) <= 14
    assert list(units.index[~units.is_valid]) == ["F2"]
    assert list(units.index[units.geometry.map(lambda g: len(g.interiors) > 0)]) == ["P1"]
    whole = units.geometry.make_valid()
    pairs = whole.sindex.query(whole, predicate="overlaps")
    assert pairs.shape[1] > 0, "neighbors were traced one by one, so they overlap somewhere"
    acres = shapely.union_all(whole.to_crs(ground.PLANE).to_numpy()).area / M2_PER_AC
    assert 600 < acres < 900


def test_every_unit_was_traced_within_its_slop():
    drawn = ground.drawn_units()
    for unit in ground.UNITS:
        true, traced = ground.true_units()[unit.unit_id], drawn[unit.unit_id].exterior
        slip = 3.0 if unit.unit_id == "P6" else 0.0  # the whole unit was shifted
        bow_tie = 45.0 if unit.unit_id == "F2" else 0.0
        off = shapely.hausdorff_distance(true.exterior, traced)
        assert off <= unit.slop_m + slip + bow_tie + 0.6, unit.unit_id


def test_the_story_has_what_a_comparison_needs():
    told = tomllib.loads(PROPERTY_FILE.read_text("utf-8"))
    (comparison,) = told["comparisons"]
    assert set(comparison["burned"]) == set(scenes.EFFECTS)
    assert tuple(comparison["reference"]) == scenes.REFERENCES
    assert len(comparison["reference"]) >= 5
    dates = {str(scene["date"]) for scene in told["sources"]["scenes"]}
    assert {scene.date for scene in scenes.SCENES} <= dates
    assert len({scene.date[:4] for scene in scenes.SCENES}) == 3


@pytest.fixture(scope="module")
def sources():
    return read_property(PROPERTY_FILE)


@pytest.fixture(scope="module")
def run(sample_run):
    return sample_run.frames


def plane_acres(shape):
    """Acres in the generator's equal-area plane: no geodesic, nothing of the program."""
    return shapely.make_valid(shape, method="structure", keep_collapsed=False).area / M2_PER_AC


def test_acres_of_every_unit_are_those_it_was_drawn_with(run):
    gross_ac = run["units"].set_index("unit_id")["gross_ac"]
    stored = gpd.read_file(SAMPLE / "units.shp").to_crs(ground.PLANE).set_index("UNIT").geometry
    for unit_id, shape in ground.drawn_units().items():
        assert gross_ac[unit_id] == pytest.approx(plane_acres(stored[unit_id]), rel=1e-7), unit_id
        # Coordinates are stored to the centimeter.
        assert gross_ac[unit_id] == pytest.approx(plane_acres(shape), rel=2e-5), unit_id


def test_exclusions_take_out_what_was_drawn_and_only_there(run):
    left = run["units"].set_index("unit_id")[["no_burn_ac", "no_seed_ac"]]
    drawn = ground.exclusions_frame().set_index("KIND").geometry.map(plane_acres)
    expected = {
        "M1": (drawn["insect refuge"], 0),
        "F1": (drawn["shrub thicket"], 0),
        "D1": (drawn["wetland"], drawn["wetland"]),
        "F3": (drawn["building site"], drawn["building site"] + drawn["remnant patch"]),
    }
    for unit_id, row in left.iterrows():
        assert tuple(row) == pytest.approx(expected.get(unit_id, (0, 0)), rel=1e-4), unit_id


def test_bow_tie_and_outdated_acres_are_found(run):
    told = run["findings"].set_index("subject")["message"]
    assert "crosses itself" in told["F2"].iloc[0]
    assert "66.90 ac, measured are 72.90 ac" in told["P8"].iloc[0]


def test_windmill_field_seed_by_hand(run):
    # Switch of units only: seeds per square foot × 43,560 ÷ seeds per pound (USDA PLANTS: big
    # bluestem 144,240) × net acres, and 60 lb of lot LP-001 at 88.4 % × (71 + 12) % go first.
    net_ac = run["units"].set_index("unit_id").loc["F3", "seedable_ac"]
    needed_lb = 7 * 43560 / 144240 * net_ac
    rates = run["seed_rates"].set_index(["area", "species"])["pls_lb"]
    assert rates["Windmill", "Andropogon gerardii"] == pytest.approx(needed_lb, rel=1e-9)
    order = run["seed_order"].set_index("lot")
    assert order.loc["LP-001", "pls_needed_lb"] == pytest.approx(60 * 0.884 * 0.83, rel=1e-9)
    second_bulk_lb = (needed_lb - 60 * 0.884 * 0.83) / (0.792 * 0.80)
    assert order.loc["LP-002", "bulk_needed_lb"] == pytest.approx(second_bulk_lb, rel=1e-9)
    assert order.loc["LP-002", "bulk_to_order_lb"] == 200  # 175.19 lb in bags of 25 lb


def test_lane_has_its_hole_and_the_neighboring_blocks_share_one_edge(run):
    breaks = run["firebreaks"]
    north = breaks[breaks["block"] == "North"]
    lane_gap = north[north["status"] == "gap"]["length_ft"]
    first, last = ground.LANE_GAP
    assert lane_gap.sum() == pytest.approx((last - first) / 0.3048, abs=6)
    shared = breaks[breaks["neighbor_block"].notna()]
    true = ground.true_units()
    edge = true["M1"].intersection(true["P1"].union(true["D1"])).length
    assert shared["length_ft"].sum() == pytest.approx(edge / 0.3048, rel=0.01)


@pytest.mark.parametrize("shift_m", [-1e-3, -1e-9, 1e-9])
def test_a_hair_east_or_north_changes_no_line(run, sources, shift_m):
    # Two versions of a projection library differ by that much and more.
    property_file, intake = sources
    again = {
        name: frame.set_geometry(frame.geometry.translate(shift_m, shift_m))
        if isinstance(frame, gpd.GeoDataFrame)
        else frame
        for name, frame in intake.frames.items()
    }
    lines = ("firebreaks", "mow_strips", "mow_passes", "tie_ins")
    for step in itertools.takewhile(lambda _: not again.keys() >= {*lines}, STEPS):
        again[step.writes] = step_layer(step, again, chosen_settings(property_file), intake.crs)
    for layer in lines:
        assert len(again[layer]) == len(run[layer]), layer
    for layer, column in (("firebreaks", "length_ft"), ("mow_passes", "length_ft")):
        assert list(again[layer][column]) == pytest.approx(list(run[layer][column]), abs=0.05)


def test_block_sums_hold(run):
    blocks = run["burn_blocks"].set_index("block")
    rest = blocks["excluded_ac"] + blocks["break_ac"] + blocks["burnable_ac"]
    assert list(blocks["gross_ac"]) == pytest.approx(list(rest))
    lengths = blocks["existing_ft"] + blocks["gap_ft"] + blocks["prepare_ft"]
    assert list(blocks["perimeter_ft"]) == pytest.approx(list(lengths))


def test_effect_of_the_burn_that_was_put_in_is_found(run):
    rows = run["greenness"].set_index("unit_id")
    for unit_id, effect in scenes.EFFECTS.items():
        low, high = rows.loc[unit_id, ["interval_low", "interval_high"]]
        assert low < effect < high, unit_id
        assert rows.loc[unit_id, "change_vs_reference"] == pytest.approx(effect, abs=0.03)
    assert rows.loc["P2", "interval_low"] > 0, "0.06 NDVI stands out"
    low, high = rows.loc["P4", ["interval_low", "interval_high"]]
    assert low < 0 < high, "0.01 NDVI does not"


def test_unit_under_clouds_is_no_reference(run):
    rows = run["greenness"].set_index("unit_id")
    assert rows.loc["P8", "valid_pct"] < 50


def test_eight_years_lead_to_many_different_suggestions(run):
    plan = run["season_plan"]
    assert len(plan) == 14
    assert plan["suggestion"].nunique() >= 5
    assert plan["suggestion"].str.startswith("option: ").all(), "an option, never an order"


def test_every_state_of_the_road_is_one_of_some_unit(run):
    assert set(run["road"]["state"]) == set(STATES)


def test_every_burn_on_record_is_told_with_its_day(run):
    told = run["history"].set_index("unit_id")["burn_dates"]
    assert told["F1"].split(", ")[-1] == "2022-04-15"
    assert len(told["F1"].split(", ")) == 2
    assert told["P1"] is None


def true_slope_pct(shape):
    """Slopes of the made ground each 10 m inside a shape, over 10 m to either side."""
    west, south, east, north = shape.bounds
    x, y = np.meshgrid(np.arange(west, east, 10), np.arange(south, north, 10))
    inside = shapely.contains_xy(shape, x, y)
    x, y = x[inside], y[inside]
    rise = [heights.height_m(x + 10, y) - heights.height_m(x - 10, y)]
    rise += [heights.height_m(x, y + 10) - heights.height_m(x, y - 10)]
    return 100 * np.hypot(*rise) / 20


def test_slopes_are_those_of_the_ground_that_was_made(run):
    # Heights are stored to 0.1 ft, 0.3 % of 10 m, and read between pixels. Units are traced up to
    # 3 m off, and the steepest ground of some lies on their edge: it is between that of a smaller
    # and of a larger outline.
    told = run["unit_slopes"].set_index("unit_id")
    for unit_id, shape in ground.true_units().items():
        row = told.loc[unit_id]
        assert row["median_pct"] == pytest.approx(np.median(true_slope_pct(shape)), abs=0.3)
        least, most = (true_slope_pct(shape.buffer(d)).max() for d in (-15, 15))
        assert least - 0.5 < row["most_pct"] < most + 0.5, unit_id
        assert row["known_pct"] == 100


def test_steep_side_of_the_draw_is_found_once_for_its_block(run):
    codes = run["findings"].set_index("code")["subject"]
    assert codes["head_of_slope"] == "Draw"
    assert codes["too_steep_to_mow"] == "Draw"


STEPS_OF = [step for step in STEPS if step.of]


@pytest.mark.parametrize("step", STEPS_OF, ids=lambda step: step.writes)
def test_a_step_that_is_passed_over_would_have_written_nothing(sources, sample_run, step):
    crs, settings = sample_run.crs, chosen_settings(sources[0])
    layers = {n: empty(LAYERS[n], crs if LAYERS[n].geometry else None) for n in LAYERS}
    frames = sample_run.frames | {name: layers[name] for name in step.of}
    for other in STEPS:
        frames[other.writes] = (frames if other.has_work(frames) else layers)[other.writes]
    assert step.compute(frames, settings).empty
    assert_frame_equal(step_layer(step, frames, settings, crs), layers[step.writes])
