"""A property file from a stranger: what it must not reach."""

import os
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.core.errors import SourceError
from pipeline.intake.safety import guard_parts, guard_path
from pipeline.intake.settings import VectorSource

VIRTUAL = [
    "/vsicurl/http://127.0.0.1/u.shp",
    "/vsicurl_streaming/http://127.0.0.1/u.shp",
    "/VSIS3/bucket/u.shp",
    "/vsizip/u.zip/u.shp",
    "/vsizip//vsicurl/http://127.0.0.1/u.zip",
    "/vsistdin/",
    "/vsisubfile/0_9,u.shp",
    "/vsimem/u.shp",
    "u/../vsicurl/x",
    "https://example.org/u.geojson",
    "ftp://example.org/u.geojson",
    "file:///etc/passwd",
    "PG:host=127.0.0.1 dbname=x",
    "WFS:http://127.0.0.1/wfs",
    "GeoJSON:u.geojson",
    "ESRI Shapefile:u.shp",
    "<OGRVRTDataSource></OGRVRTDataSource>",
    "\\\\server\\share\\u.shp",
    "//server/share/u.shp",
    " /vsicurl/http://127.0.0.1/u.shp",
]


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "place").mkdir()
    (tmp_path / "other").mkdir()
    (tmp_path / "place" / "u.shp").write_text("x")
    (tmp_path / "other" / "v.shp").write_text("x")
    return tmp_path / "place"


@pytest.mark.parametrize("path", VIRTUAL)
def test_network_and_virtual_paths_are_refused(path, folder):
    with pytest.raises(SourceError, match=r"virtual path|outside|no file at"):
        guard_path(path, folder)


@pytest.mark.parametrize("path", ["../other/v.shp", "sub/../../other/v.shp", "/etc/passwd", ".."])
def test_paths_that_leave_the_folder_are_refused(path, folder):
    with pytest.raises(SourceError, match=r"outside the property file's folder.*--allow"):
        guard_path(path, folder)


def test_allowed_folder_may_be_read(folder):
    other = folder.parent / "other"
    assert guard_path("../other/v.shp", folder, (other,)) == other / "v.shp"
    assert guard_path(str(other / "v.shp"), folder, (other,)) == other / "v.shp"
    assert guard_path("sub\\..\\u.shp", folder) == folder / "u.shp"


def test_links_are_followed_before_they_are_judged(folder):
    (folder / "link.shp").symlink_to(folder.parent / "other" / "v.shp")
    (folder / "door").symlink_to(folder.parent / "other")
    for path in ("link.shp", "door/v.shp"):
        with pytest.raises(SourceError, match="outside"):
            guard_path(path, folder)
    (folder / "inner.shp").symlink_to(folder / "u.shp")
    assert guard_path("inner.shp", folder) == folder / "u.shp"
    with pytest.raises(SourceError, match=r"link\.shp is a link to .*v\.shp"):
        guard_parts([folder / "u.shp", folder / "link.shp"], (folder,), "u.shp")


def test_table_of_a_shapefile_must_not_be_a_link_elsewhere(folder):
    from pipeline.catalog import LAYERS
    from pipeline.intake.vector import read_vector

    (folder / "u.dbf").symlink_to("/etc/passwd")
    (folder / "u.shp").write_bytes(struct.pack(">i", 9994) + bytes(200))
    read = read_vector("units", VectorSource(path="u.shp"), LAYERS["drawn_units"], folder)
    assert "u.dbf is a link to" in str(read.faults[0])


def test_pipes_and_folders_are_no_sources(folder):
    os.mkfifo(folder / "pipe.shp")
    (folder / "sub").mkdir()
    for path, words in (("pipe.shp", "a device or pipe"), ("sub", "is a folder"), (".", "folder")):
        with pytest.raises(SourceError, match=words):
            guard_path(path, folder)


@pytest.mark.parametrize("path", ["u\x00.shp", "u\n.shp", "u\u202e.shp"])
def test_hidden_characters_in_a_path_are_refused(path, folder):
    with pytest.raises(SourceError, match="hidden characters"):
        guard_path(path, folder)


def test_misspelt_file_gets_the_near_one(folder):
    with pytest.raises(SourceError, match=r'no file at .*did you mean "u\.shp"'):
        guard_path("uu.shp", folder)


@given(st.text(min_size=1, max_size=60))
def test_no_text_gets_out(tmp_path_factory, path):
    folder = tmp_path_factory.getbasetemp() / "guarded"
    folder.mkdir(exist_ok=True)
    (folder / "u.shp").touch()
    try:
        found = guard_path(path, folder)
    except SourceError:
        return
    assert found.is_relative_to(folder.resolve())
