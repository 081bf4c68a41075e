"""What is beyond a limit is refused in one line that names the limit; nothing else is."""

from dataclasses import replace

import pytest
import shapely

from pipeline.core.errors import SourceError
from pipeline.core.limits import LIMITS, MAP_CORNERS, MAP_ROWS, TABLE_ROWS
from pipeline.intake import map_file, tables, vector
from pipeline.intake.safety import plain_reading
from pipeline.intake.tables import grid_of
from pipeline.reference import describe_limits
from tests.made_maps import faults, forties, read, save


@pytest.mark.parametrize(("most", "refused"), [(9, True), (10, False)])
def test_two_squares_have_ten_corners(most, refused, tmp_path, monkeypatch):
    """A square has five: its first one ends it too."""
    monkeypatch.setattr(map_file, "MAP_CORNERS", replace(MAP_CORNERS, most=most))
    two = forties()[:2]
    assert int(shapely.get_num_coordinates(two.geometry.to_numpy()).sum()) == 10
    save(two, tmp_path / "u.gpkg")
    told = faults(read(tmp_path / "u.gpkg"))
    assert ("outlines of 10 corners; expected at most 9" in told) == refused


def test_rows_beyond_the_limit_are_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(vector, "MAP_ROWS", replace(MAP_ROWS, most=1))
    save(forties()[:2], tmp_path / "u.gpkg")
    assert "2 rows; expected at most 1 rows" in faults(read(tmp_path / "u.gpkg"))


@pytest.mark.parametrize("rows", [4, 9])
def test_table_beyond_the_limit_is_refused_with_its_blank_rows(rows, monkeypatch):
    monkeypatch.setattr(tables, "TABLE_ROWS", replace(TABLE_ROWS, most=3))
    grid_of("lot\n" + "\n" * 2 + "L1\n", "t.csv")
    with pytest.raises(SourceError, match="a table that is larger"):
        grid_of("lot\n" + "\n" * (rows - 1) + "L1\n", "t.csv")


def test_what_the_system_refuses_is_a_fault_of_the_source():
    told = r"u.gpkg: cannot be read \(No space left on device\)"
    with pytest.raises(SourceError, match=told), plain_reading("u.gpkg"):
        raise OSError(28, "No space left on device")


def test_each_limit_is_told_once_with_its_reason():
    told = " ".join(describe_limits().split())
    assert len({limit.name for limit in LIMITS}) == len(LIMITS) >= 15
    for limit in LIMITS:
        assert f"{limit.name}: {limit} ({limit.why})" in told
