"""Maps of units whose rows want mending: refused with the line to write, mended where it stands."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod
from shapely.affinity import rotate

from pipeline.catalog import LAYERS
from pipeline.core.errors import SourceError
from pipeline.core.units import M2_PER_AC
from pipeline.intake.settings import MendSettings, UnitSource
from pipeline.intake.unit_rows import named_units
from pipeline.intake.vector import read_vector
from pipeline.runner import read_property
from tests.made_maps import SIDE, UTM, X, Y, faults, forties, said, save, square

GEOD = Geod(ellps="GRS80")


def geodesic_ac(shape, crs):
    """Acres of a polygon by pyproj's own geodesic area."""
    series = gpd.GeoSeries([shape], crs=crs).segmentize(5.0).to_crs("EPSG:4269")
    return abs(GEOD.geometry_area_perimeter(series.iloc[0])[0]) / M2_PER_AC


def read(frame, tmp_path, *, columns=None, prefix=None, **mend):
    path = save(frame, tmp_path / "units.gpkg")
    source = UnitSource(path=path.name, columns=columns or {}, prefix=prefix)
    told = MendSettings(**mend)
    return read_vector("units", source, LAYERS["drawn_units"], tmp_path, mend=told)


def speck(column=5, side=3.0):
    """A square of a few meters: 9 m² are 0.0022 ac."""
    return square(column, side=side)


def with_specks():
    shapes = [square(0), square(1), square(2), speck(5), speck(6, 5.0)]
    names = ["A", "B", "C", "D", "E"]
    return gpd.GeoDataFrame({"UNIT": names}, geometry=shapes, crs=UTM)


BY_UNIT = {"unit_id": "UNIT"}


def test_specks_are_refused_in_one_line_that_offers_the_mend(tmp_path):
    told = faults(read(with_specks(), tmp_path, columns=BY_UNIT))
    assert told.count("\n") == 0
    assert "rows 4, 5: 2 areas of 0.0022" in told
    assert 'specks = "drop" (or "keep") under [mend]' in told


def test_specks_are_left_out_and_their_acres_are_told(tmp_path):
    result = read(with_specks(), tmp_path, columns=BY_UNIT, specks="drop")
    assert not result.faults
    assert result.frame["unit_id"].tolist() == ["A", "B", "C"]
    assert result.source_row["rows_read"] == 5
    assert result.source_row["rows_used"] == 3
    mended = result.mended
    assert mended["mend"].tolist() == ["speck_dropped"] * 2
    wanted = [geodesic_ac(speck(5), UTM), geodesic_ac(speck(6, 5.0), UTM)]
    assert mended["acres_ac"].tolist() == pytest.approx(wanted, rel=1e-6)
    assert "2 rows (0.0084 ac) too small for a unit left out, as [mend] says" in said(result)


def test_specks_are_kept_where_the_user_wants_them(tmp_path):
    result = read(with_specks(), tmp_path, columns=BY_UNIT, specks="keep")
    assert result.frame["unit_id"].tolist() == ["A", "B", "C", "D", "E"]
    assert result.mended["mend"].tolist() == ["speck_kept"] * 2


def test_the_bound_of_a_speck_is_the_users(tmp_path):
    # 25 m² are 0.0062 ac, 9 m² 0.0022.
    result = read(with_specks(), tmp_path, columns=BY_UNIT, specks="drop", specks_below_ac=0.005)
    assert result.frame["unit_id"].tolist() == ["A", "B", "C", "E"]


REPEATED = ["Bluff", "Bluff", None]


def test_repeated_and_blank_names_are_refused_with_the_line_to_write(tmp_path):
    told = faults(read(forties(UNIT=REPEATED), tmp_path, columns=BY_UNIT))
    assert 'unit "Bluff" stands 2 times' in told
    assert 'names = "numbered"' in told
    assert "row 3" in told


def test_repeated_names_are_numbered_and_blank_ones_take_their_row(tmp_path):
    result = read(forties(UNIT=REPEATED), tmp_path, columns=BY_UNIT, names="numbered")
    assert not result.faults
    assert result.frame["unit_id"].tolist() == ["Bluff 1", "Bluff 2", "row 3"]
    assert result.mended["was"].tolist() == ["Bluff", "Bluff", None]


def test_units_are_named_by_their_row(tmp_path):
    frame = forties().drop(columns="UNIT")
    assert "unit_id" in faults(read(frame, tmp_path))
    assert read(frame, tmp_path, names="row").frame["unit_id"].tolist() == ["1", "2", "3"]


def test_units_are_named_from_two_columns(tmp_path):
    frame = forties(UNIT=["Bluff", "Bluff", "Creek"], PART=["east", "west", None])
    result = read(frame, tmp_path, names_from=("UNIT", "PART"))
    assert result.frame["unit_id"].tolist() == ["Bluff east", "Bluff west", "Creek"]
    assert set(result.mended["mend"]) == {"named_by_columns"}
    odd = read(frame, tmp_path, names_from=("UNIT", "PAT"))
    assert 'the file has no column "PAT"' in faults(odd)


@pytest.mark.parametrize("turn_deg", [0, 37])
@pytest.mark.parametrize("crs", [UTM, "EPSG:4269"])
def test_rows_of_one_name_are_joined_and_shared_ground_counts_once(tmp_path, turn_deg, crs):
    half = square(0).union(shapely.box(X + SIDE, Y, X + 1.5 * SIDE, Y + SIDE))
    shapes = [half, square(1), square(3)]  # the first two share half a square
    shapes = [rotate(shape, turn_deg, origin=(X, Y)) for shape in shapes]
    data = {"PAST": ["Bluff", "Bluff", "Creek"], "COVER": ["brome", "brome", "native"]}
    data["ACRES"] = [60.0, 40.0, 40.0]
    frame = gpd.GeoDataFrame(data, geometry=shapes, crs=UTM)
    columns = {"cover": "COVER", "stated_ac": "ACRES"}
    result = read(frame.to_crs(crs), tmp_path, columns=columns, dissolve="PAST")
    assert not result.faults
    units = result.frame.set_index("unit_id")
    assert units.index.tolist() == ["Bluff", "Creek"]
    assert units["cover"].tolist() == ["brome", "native"]
    assert units["stated_ac"].tolist() == [100.0, 40.0]
    union_m2 = 2 * SIDE**2
    assert units.to_crs(UTM).area["Bluff"] == pytest.approx(union_m2, rel=1e-7)
    assert result.mended["source_row"].tolist() == [1, 2]


def test_joined_rows_that_differ_leave_the_column_empty_and_say_so(tmp_path):
    frame = forties(PAST=["Bluff", "Bluff", "Creek"], COVER=["brome", "native", "native"])
    result = read(frame, tmp_path, columns={"cover": "COVER"}, dissolve="PAST")
    assert pd.isna(result.frame["cover"].iloc[0])
    assert "its 2 rows do not agree on cover; left empty" in said(result)


def test_specks_that_are_joined_with_a_unit_are_none(tmp_path):
    frame = with_specks().assign(PAST=["A", "B", "C", "C", "C"])
    result = read(frame, tmp_path, dissolve="PAST")
    assert not result.faults
    wanted = sum(geodesic_ac(s, UTM) for s in (square(2), speck(5), speck(6, 5.0)))
    assert geodesic_ac(result.frame.geometry.iloc[2], result.frame.crs) == pytest.approx(wanted)


def test_block_groups_joined_by_tract_have_the_published_square_miles(block_groups, tmp_path):
    # Census block groups; AREA holds the published square miles.
    frame = block_groups[["AREA", "geometry"]].assign(TRACT=block_groups["BKG_KEY"].str[:11])
    joined = read(frame, tmp_path, dissolve="TRACT").frame
    published = frame.groupby("TRACT")["AREA"].sum()
    square_miles = {
        row.unit_id: geodesic_ac(row.geometry, joined.crs) / 640 for row in joined.itertuples()
    }
    assert len(joined) == len(published) < len(frame)
    for tract, wanted in published.items():
        assert square_miles[str(tract)] == pytest.approx(wanted, rel=2e-3, abs=5e-4)


def test_a_double_under_another_name_is_refused_or_left_out(tmp_path):
    shapes = [square(0), square(1), square(1)]
    frame = gpd.GeoDataFrame({"UNIT": ["A", "B", "C"]}, geometry=shapes, crs=UTM)
    told = faults(read(frame, tmp_path, columns=BY_UNIT))
    assert 'duplicates = "keep_first" under [mend]' in told
    result = read(frame, tmp_path, columns=BY_UNIT, duplicates="keep_first")
    assert result.frame["unit_id"].tolist() == ["A", "B"]
    row = result.mended.iloc[0]
    assert (row["unit_id"], row["was"]) == ("B", "C")
    assert row["acres_ac"] == pytest.approx(geodesic_ac(square(1), UTM), rel=1e-6)


HEAD = '[property]\nname = "Made"\nseason = 2027\n'


def property_units(tmp_path, text):
    path = tmp_path / "made.toml"
    path.write_text(HEAD + text)
    _, intake = read_property(path)
    return intake


def test_in_holdings_are_taken_out_of_the_units_around_them(tmp_path):
    inner, innermost = shapely.box(X + 50, Y + 50, X + 150, Y + 150), square(0, side=0)
    innermost = shapely.box(X + 80, Y + 80, X + 100, Y + 100)
    shapes = [square(0), inner, innermost, square(1)]  # square 1 touches, it lies not inside
    frame = gpd.GeoDataFrame({"UNIT": ["A", "B", "C", "D"]}, geometry=shapes, crs=UTM)
    save(frame, tmp_path / "units.gpkg")
    text = '[sources.units]\npath = "units.gpkg"\ncolumns = { unit_id = "UNIT" }\n'
    intake = property_units(tmp_path, text + '[mend]\nin_holdings = "clip"\n')
    areas = intake.frames["drawn_units"].set_index("unit_id").to_crs(UTM).area
    wanted = {"A": SIDE**2 - 1e4, "B": 1e4 - 400, "C": 400, "D": SIDE**2}
    assert areas.to_dict() == pytest.approx(wanted, rel=1e-6)
    mended = intake.frames["mended"]
    assert mended["unit_id"].tolist() == ["A", "B"]
    assert mended["was"].tolist() == ["B, C", "C"]
    lost = [geodesic_ac(inner, UTM), geodesic_ac(innermost, UTM)]
    assert mended["acres_ac"].tolist() == pytest.approx(lost, rel=1e-5)


def two_maps(tmp_path, names=("A", "B", "C")):
    save(forties(), tmp_path / "west.gpkg")
    east = gpd.GeoDataFrame(
        {"UNIT": list(names)}, geometry=[square(n, 2) for n in range(3)], crs=UTM
    )
    save(east.to_crs("EPSG:4326"), tmp_path / "east.geojson")
    columns = 'columns = { unit_id = "UNIT" }\n'
    return (
        f'[[sources.units]]\npath = "west.gpkg"\n{columns}',
        f'[[sources.units]]\npath = "east.geojson"\n{columns}',
    )


def test_units_of_several_maps_are_told_apart_by_their_prefix(tmp_path):
    west, east = two_maps(tmp_path)
    with pytest.raises(SourceError, match=r'units of one name: A, B, C.*prefix = "…"'):
        property_units(tmp_path, west + east)
    intake = property_units(tmp_path, west + 'prefix = "West"\n' + east + 'prefix = "East"\n')
    units = intake.frames["drawn_units"].set_index("unit_id")
    assert units.index.tolist() == ["East A", "East B", "East C", "West A", "West B", "West C"]
    assert units.to_crs(UTM).area.tolist() == pytest.approx([SIDE**2] * 6, rel=1e-6)
    rows = intake.frames["sources"].query("source.str.startswith('units')")
    assert rows["source"].tolist() == ["units", "units 2"]


def test_units_of_several_maps_with_names_of_their_own_need_no_prefix(tmp_path):
    intake = property_units(tmp_path, "".join(two_maps(tmp_path, names=("D", "E", "F"))))
    assert intake.frames["drawn_units"]["unit_id"].tolist() == list("ABCDEF")
    assert intake.frames["mended"].empty


@settings(max_examples=200)
@given(st.lists(st.sampled_from(["A", "B", "C 1", None]), max_size=12))
def test_numbered_names_keep_every_row_and_say_what_they_were(names):
    new, mends = named_units(names, MendSettings(names="numbered"), None)
    assert len(new) == len(names)
    changed = {mend.row: mend for mend in mends}
    for row, (old, name) in enumerate(zip(names, new, strict=True), 1):
        if names.count(old) == 1 and old is not None:
            assert name == old
            assert row not in changed
        else:
            assert changed[row].was == old
    fresh = [name for name in new if name not in names]
    assert len(set(fresh)) == len(fresh)


def test_two_ways_to_name_units_are_refused():
    for told in ({"names": "row", "dissolve": "A"}, {"names_from": ("A", "B"), "dissolve": "C"}):
        with pytest.raises(ValueError, match="give one of"):
            MendSettings(**told)
