"""GeoPackages whose layers never end, and such that no run wrote, for ``render``."""

from tests.hostile.ground import (
    CHECK,
    START,
    UNITS,
    change_database,
    squares,
    write_map,
    write_property,
)
from tests.hostile.registry import MAKERS, maker

ENDLESS = "WITH RECURSIVE t(UNIT) AS (SELECT 1 UNION ALL SELECT UNIT + 1 FROM t)"


def _geopackage(folder, *commands):
    """A property whose units stand in a GeoPackage that was changed by some commands."""
    write_property(folder, UNITS.replace("units.geojson", "map.gpkg"))
    write_map(folder / "map.gpkg", squares())
    change_database(folder / "map.gpkg", *commands)


@maker
def endless_view(folder, url):
    """A second layer is a view that never ends."""
    _geopackage(
        folder,
        f"CREATE VIEW more AS {ENDLESS} SELECT UNIT AS fid, NULL AS geom, UNIT FROM t",
        "INSERT INTO gpkg_contents SELECT 'more', data_type, 'more', description, last_change, "
        "min_x, min_y, max_x, max_y, srs_id FROM gpkg_contents",
        "INSERT INTO gpkg_geometry_columns SELECT 'more', column_name, geometry_type_name, srs_id, "
        "z, m FROM gpkg_geometry_columns",
    )
    return CHECK


@maker
def start_endless_view(folder, url):
    """The same, found by a look at the folder."""
    endless_view(folder, url)
    return START


@maker
def endless_contents(folder, url):
    """The list of layers itself is a view that never ends."""
    _geopackage(
        folder,
        "ALTER TABLE gpkg_contents RENAME TO old_contents",
        f"CREATE VIEW gpkg_contents AS {ENDLESS} SELECT UNIT AS table_name FROM t",
    )
    return CHECK


@maker
def endless_columns(folder, url):
    """The list of layers with shapes is a view that never ends."""
    _geopackage(
        folder,
        "ALTER TABLE gpkg_geometry_columns RENAME TO old_columns",
        f"CREATE VIEW gpkg_geometry_columns AS {ENDLESS} SELECT UNIT AS table_name, "
        "'geom' AS column_name, 'POLYGON' AS geometry_type_name, 4326 AS srs_id, 0 AS z, 0 AS m "
        "FROM t",
    )
    return CHECK


@maker
def render_endless_contents(folder, url):
    """A GeoPackage for ``render`` whose list of layers never ends."""
    endless_contents(folder, url)
    return ("render", "map.gpkg")


@maker
def render_of_another(folder, url):
    """A GeoPackage for ``render`` that no run wrote."""
    _geopackage(folder)
    return ("render", "map.gpkg")


def _render_metadata(name, text):
    def make(folder, url):
        _geopackage(
            folder,
            "CREATE TABLE IF NOT EXISTS gpkg_metadata (id INTEGER, md_scope TEXT, "
            "md_standard_uri TEXT, mime_type TEXT, metadata TEXT)",
        )
        from pipeline.write.geopackage import PROVENANCE_URI

        change_database(
            folder / "map.gpkg",
            f"INSERT INTO gpkg_metadata VALUES (1, 'd', '{PROVENANCE_URI}', 't', '{text}')",
        )
        return ("render", "map.gpkg")

    MAKERS[name] = make


_render_metadata("render_list", "[]")
_render_metadata("render_number", "7")
_render_metadata("render_deep", "[" * 200_000)
_render_metadata("render_no_text", '{"slug": 3, "crs": [], "newest_source": {}}')
_render_metadata("render_slug_out", '{"slug": "../../x", "crs": "x", "newest_source": "x"}')
_render_metadata(
    "render_escape",
    '{"slug": "\\u001b[31m", "crs": "EPSG:4326", "newest_source": "2026-01-01T00:00:00.000Z"}',
)
