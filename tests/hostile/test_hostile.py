"""Hostile and broken input ends in a line a fault: no server called, nothing touched, no traceback.

A cheap one of each kind; ``python -m tests.hostile.all`` tries every one, the large ones too.
"""

import contextlib

import pytest

from tests.hostile.attempts import attempt
from tests.hostile.makers import MAKERS

CHEAP = (
    *("picture_is_wmts", "heights_are_vrt", "mask_is_stac", "start_finds_tile_index"),
    *("overview_is_vrt", "metadata_names_overviews", "picture_names_overviews_inside"),
    *("map_is_vrt_gpkg", "start_map_is_wfs_json", "folder_of_vrt", "endless_view"),
    *("zip_that_lies", "zip_of_ten_gigabytes", "huge_sparse_picture", "picture_of_fine_pixels"),
    *("crs_of_the_moon", "escapes_in_dbf", "start_escapes", "deep_geojson", "infinite_geojson"),
    *("name_not_utf8", "property_not_utf8", "folder_not_utf8"),
    *("key_of_many_parts", "tables_in_tables", "list_of_many_lines", "rate_of_1e99"),
    *("axes_swapped", "property_in_utf16", "path_of_500_letters"),
    *("unreadable_shp", "unreadable_gpkg", "unreadable_csv", "unreadable_tif", "unreadable_toml"),
    *("unreadable_folder", "start_unreadable_geojson"),
    *("check_full_disk_geopackage", "check_full_disk_zip", "run_full_disk"),
    *("check_closed_stdout", "start_no_temporary"),
)


@pytest.mark.parametrize("name", CHEAP)
def test_hostile_input_ends_in_a_line_a_fault(name, tmp_path):
    ended = attempt(MAKERS[name], tmp_path / name)
    assert not ended.faults, (ended.faults, ended.said)


def test_the_server_hears_who_calls(tmp_path):
    def calls(folder, url):
        import urllib.request

        with contextlib.suppress(OSError):
            urllib.request.urlopen(url, timeout=5)
        return ("describe", "steps")

    assert attempt(calls, tmp_path / "calls").heard == 1
