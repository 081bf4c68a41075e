"""Hostile and broken input, cheap to make: each maker fills a folder, and tells what to run there.

A maker gets the folder and the address of a server that must not hear of it.
"""

import json
import shutil
import zipfile

import rasterio
import shapely

from tests.hostile.attempts import Room
from tests.hostile.ground import (
    CHECK,
    HEIGHTS,
    RUN,
    SCENE,
    START,
    UNITS,
    change_database,
    collection,
    squares,
    write_map,
    write_picture,
    write_property,
)

MAKERS = {}

WMTS = "<GDAL_WMTS><GetCapabilitiesUrl>URL/cap.xml</GetCapabilitiesUrl></GDAL_WMTS>"
WCS = (
    "<WCS_GDAL><ServiceURL>URL/wcs?</ServiceURL><Version>1.0.0</Version>"
    "<CoverageName>x</CoverageName></WCS_GDAL>"
)
WMS = (
    '<GDAL_WMS><Service name="TMS"><ServerUrl>URL/${z}/${x}/${y}.png</ServerUrl></Service>'
    "<DataWindow><UpperLeftX>585000</UpperLeftX><UpperLeftY>4429500</UpperLeftY>"
    "<LowerRightX>586000</LowerRightX><LowerRightY>4428500</LowerRightY><SizeX>50</SizeX>"
    "<SizeY>50</SizeY><TileLevel>1</TileLevel></DataWindow><Projection>EPSG:32614</Projection>"
    "<BandsCount>1</BandsCount></GDAL_WMS>"
)
VRT = (
    '<VRTDataset rasterXSize="50" rasterYSize="50"><SRS>EPSG:32614</SRS><GeoTransform>585000,20,0,'
    '4429500,0,-20</GeoTransform><VRTRasterBand dataType="Float32" band="1"><SimpleSource>'
    '<SourceFilename relativeToVRT="0">/vsicurl/URL/x.tif</SourceFilename><SourceBand>1'
    "</SourceBand></SimpleSource></VRTRasterBand></VRTDataset>"
)
TILE_INDEX = (
    "<GDALTileIndexDataset><IndexDataset>/vsicurl/URL/i.gpkg</IndexDataset>"
    "<LocationField>l</LocationField></GDALTileIndexDataset>"
)
STAC = json.dumps(
    {
        "type": "FeatureCollection",
        "stac_version": "1.0.0",
        "links": [{"rel": "next", "href": "URL/next"}],
        "features": [
            {
                "type": "Feature",
                "stac_version": "1.0.0",
                "stac_extensions": [
                    "https://stac-extensions.github.io/projection/v1.1.0/schema.json"
                ],
                "id": "a",
                "geometry": None,
                "properties": {
                    "proj:epsg": 32614,
                    "proj:transform": [20, 0, 585000, 0, -20, 4429500],
                    "proj:shape": [50, 50],
                },
                "assets": {"b": {"href": "URL/b.tif"}},
                "collection": "c",
            }
        ],
    }
)
WFS = "<OGRWFSDataSource><URL>URL/wfs?</URL></OGRWFSDataSource>"
MAP_VRT = (
    "<OGRVRTDataSource><OGRVRTLayer name='u'><SrcDataSource>/vsicurl/URL/x.geojson"
    "</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>"
)
PIPELINE = json.dumps(
    {"type": "gdal_streamed_alg", "command_line": "gdal vector pipeline read URL/x.geojson"}
)
LANDING = json.dumps({"links": [{"rel": "data", "href": "URL/collections"}], "title": "x"})
OVERVIEWS = (
    "<PAMDataset><Metadata domain='OVERVIEWS'><MDI key='OVERVIEW_FILE'>/vsicurl/URL/o.tif</MDI>"
    "</Metadata></PAMDataset>"
)


def maker(make):
    """Put a maker into the list under its name."""
    MAKERS[make.__name__] = make
    return make


def with_room(name, make, **room):
    """Put a maker into the list that has less room than a file system, or other surroundings."""

    def made(folder, url):
        return make(folder, url)

    made.room = Room(**room)
    MAKERS[name] = made


def _picture_of_text(name, text, sources=UNITS + SCENE, command=RUN):
    def make(folder, url):
        write_property(folder, sources)
        (folder / "picture.tif").write_text(text.replace("URL", url))
        return command

    MAKERS[name] = make


for _name, _text in {
    "wmts": WMTS,
    "wcs": WCS,
    "wms": WMS,
    "vrt": VRT,
    "tile_index": TILE_INDEX,
    "stac": STAC,
}.items():
    _picture_of_text(f"picture_is_{_name}", _text)
    _picture_of_text(f"heights_are_{_name}", _text, UNITS + HEIGHTS)
    _picture_of_text(f"start_finds_{_name}", _text, command=START)
    _picture_of_text(
        f"mask_is_{_name}",
        _text,
        UNITS
        + SCENE.replace("picture.tif", "true.tif").replace(
            " }]", ', mask = { path = "picture.tif", preset = "scl" } }]'
        ),
    )
    _mask = MAKERS[f"mask_is_{_name}"]

    def _with_true(folder, url, mask=_mask):
        write_picture(folder / "true.tif")
        return mask(folder, url)

    MAKERS[f"mask_is_{_name}"] = _with_true


def _picture_with_beside(name, suffix, text):
    def make(folder, url):
        write_property(folder, UNITS + SCENE)
        write_picture(folder / "picture.tif")
        (folder / f"picture.tif{suffix}").write_text(text.replace("URL", url))
        return RUN

    MAKERS[name] = make


_picture_with_beside("overview_is_vrt", ".ovr", VRT)
_picture_with_beside("mask_band_is_vrt", ".msk", VRT)
_picture_with_beside("metadata_is_vrt", ".aux.xml", VRT)
_picture_with_beside("metadata_names_overviews", ".aux.xml", OVERVIEWS)


@maker
def picture_names_overviews_inside(folder, url):
    """The TIFF itself says that its smaller copies lie on a server."""
    write_property(folder, UNITS + SCENE)
    write_picture(folder / "picture.tif")
    with rasterio.open(folder / "picture.tif", "r+") as raster:
        raster.update_tags(ns="OVERVIEWS", OVERVIEW_FILE=f"/vsicurl/{url}/o.tif")
    return RUN


def _map_of_text(name, file, text):
    def make(folder, url):
        write_property(folder, UNITS.replace("units.geojson", file))
        (folder / file).write_text(text.replace("URL", url))
        return CHECK

    def make_start(folder, url):
        make(folder, url)
        return START

    MAKERS[name], MAKERS[f"start_{name}"] = make, make_start


for _kind, _text in {
    "vrt": MAP_VRT,
    "wfs": WFS,
    "pipeline": PIPELINE,
    "landing": LANDING,
    "stac": STAC,
}.items():
    for _suffix in (".gpkg", ".json", ".shp", ".fgb"):
        _map_of_text(f"map_is_{_kind}_{_suffix[1:]}", f"map{_suffix}", _text)


@maker
def folder_of_vrt(folder, url):
    """A folder called a file geodatabase with virtual maps in it."""
    write_property(folder, UNITS.replace("units.geojson", "map.gdb"))
    (folder / "map.gdb").mkdir()
    (folder / "map.gdb" / "a.vrt").write_text(MAP_VRT.replace("URL", url))
    (folder / "map.gdb" / "gdb").write_text(WFS.replace("URL", url))
    return CHECK


@maker
def zip_of_many_bytes(folder, url):
    """A zip that says it unpacks to ten times what is allowed."""
    write_property(folder, UNITS.replace("units.geojson", "map.zip"))
    with zipfile.ZipFile(folder / "map.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(3):
            with archive.open(f"{number}.geojson", "w", force_zip64=True) as file:
                for _ in range(300):
                    file.write(b" " * 1_000_000)
    return CHECK


@maker
def zip_that_lies(folder, url):
    """A zip whose directory says less than it unpacks to."""
    write_property(folder, UNITS.replace("units.geojson", "map.zip"))
    with zipfile.ZipFile(folder / "map.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("map.geojson", b" " * 40_000_000 + json.dumps(collection({})).encode())
    content = (folder / "map.zip").read_bytes()
    size = (40_000_000 + len(json.dumps(collection({})))).to_bytes(4, "little")
    (folder / "map.zip").write_bytes(content.replace(size, (9000).to_bytes(4, "little")))
    return CHECK


def _table(name, text):
    def make(folder, url):
        write_property(folder, UNITS + 'seed_lots = { path = "lots.csv" }\n')
        (folder / "lots.csv").write_text(text())
        return CHECK

    def make_start(folder, url):
        make(folder, url)
        return START

    MAKERS[name], MAKERS[f"start_{name}"] = make, make_start


LOTS = "lot,species,purity_pct,germination_pct\n"
_table("table_of_line_ends", lambda: LOTS + "\n" * 3_000_000)
_table("table_of_commas", lambda: LOTS + "," * 3_000_000)
_table("table_of_headers", lambda: "," * 1_000_000 + "\n")
_table("table_of_rows", lambda: LOTS + "L1,oats,90,80\n" * 210_000)
_table("table_of_one_cell", lambda: LOTS + "L1," + "x" * 3_000_000 + ",90,80\n")
_table("table_with_escapes", lambda: LOTS + "\x1b[31mL1\x1b[0m,\x1b]0;pwned\x07oats,90,8x0\n")
_table("table_of_escaped_headers", lambda: "\x1b[2Jlot,species,\x1b[31mpurity,germ\n1,2,3,4\n")


def _sheet(folder, sheet_xml, shared=""):
    """A workbook of one sheet, written part by part."""
    kinds = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.'
        'relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kinds}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/s.xml" ContentType="{kinds}.worksheet+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" '
        f'Type="{office}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{office}"><sheets>'
        '<sheet name="lots" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="r1" Type="{office}/worksheet" Target="worksheets/s.xml"/>'
        "</Relationships>",
    }
    write_property(folder, UNITS + 'seed_lots = { path = "lots.xlsx" }\n')
    with zipfile.ZipFile(folder / "lots.xlsx", "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
        with archive.open("xl/worksheets/s.xml", "w", force_zip64=True) as file:
            file.write(f'<worksheet xmlns="{main}"><sheetData>'.encode())
            for text in sheet_xml:
                file.write(text.encode())
            file.write(b"</sheetData></worksheet>")


def _row(*texts):
    """A row of a sheet with its cells written out."""
    cells = "".join(f'<c t="inlineStr"><is><t>{text}</t></is></c>' for text in texts)
    return f"<row>{cells}</row>"


HEADER_ROW = _row("lot", "species", "purity_pct", "germination_pct")


@maker
def sheet_of_many_rows(folder, url):
    """More rows than are read."""
    lots = "".join(f"<row><c><v>{number}</v></c></row>" for number in range(210_000))
    _sheet(folder, [HEADER_ROW, lots])
    return CHECK


@maker
def sheet_bomb(folder, url):
    """A small workbook whose sheet unpacks to more than can be meant."""
    blank = "<row/>" * 200_000
    _sheet(folder, [HEADER_ROW, *[blank] * 200])
    return CHECK


@maker
def start_sheet_bomb(folder, url):
    """The same, found by a look at the folder."""
    sheet_bomb(folder, url)
    return START


@maker
def sheet_of_far_cells(folder, url):
    """A cell in the last column and the last row that a workbook can have."""
    far = '<row r="{0}"><c r="XFD{0}"><v>1</v></c></row>'
    _sheet(folder, [HEADER_ROW, *(far.format(n) for n in range(2, 3000))])
    return CHECK


@maker
def sheet_at_the_end(folder, url):
    """One cell in the last row that a workbook can have."""
    _sheet(folder, [HEADER_ROW, '<row r="1048576"><c r="A1048576"><v>1</v></c></row>'])
    return CHECK


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


@maker
def crs_of_the_moon(folder, url):
    """A map on another body."""
    write_property(folder, UNITS.replace("units.geojson", "map.shp"))
    write_map(folder / "map.shp", squares(), "ESRI Shapefile")
    (folder / "map.prj").write_text(
        'GEOGCS["GCS_Moon_2000",DATUM["D_Moon_2000",SPHEROID["Moon_2000_IAU_IAG",1737400.0,0.0]],'
        'PRIMEM["Reference_Meridian",0.0],UNIT["Degree",0.0174532925199433]]'
    )
    return CHECK


@maker
def picture_of_the_moon(folder, url):
    """A raster on another body."""
    crs_of_the_moon(folder, url)
    moon = (folder / "map.prj").read_text()
    write_property(folder, UNITS + SCENE)
    write_picture(folder / "picture.tif")
    with rasterio.open(folder / "picture.tif", "r+") as raster:
        raster.crs = rasterio.crs.CRS.from_wkt(moon)
    return RUN


def _picture(name, sources=UNITS + SCENE, command=RUN, **more):
    def make(folder, url):
        write_property(folder, sources)
        write_picture(folder / "picture.tif", **more)
        return command

    MAKERS[name] = make


TINY = rasterio.Affine(1e-9, 0, 585_400, 0, -1e-9, 4_429_000)
HUGE = rasterio.Affine(1e9, 0, 585_400, 0, -1e9, 4_429_000)
NAN = rasterio.Affine(float("nan"), 0, 585_400, 0, -20, 4_429_000)
_picture("complex_picture", kind="complex64")
_picture("complex_heights", UNITS + HEIGHTS, kind="complex64")
_picture("start_complex", command=START, kind="complex64")
_picture("tiny_pixels", place=TINY)
_picture("tiny_heights", UNITS + HEIGHTS, place=TINY)
_picture("huge_pixels", place=HUGE)
_picture("huge_heights", UNITS + HEIGHTS, place=HUGE)
_picture("nan_pixels", place=NAN)
_picture("nan_heights", UNITS + HEIGHTS, place=NAN)
_picture("nan_picture", fill=float("nan"))
_picture("infinite_heights", UNITS + HEIGHTS, fill=float("inf"))


@maker
def huge_sparse_picture(folder, url):
    """A raster that says it has more pixels than could be read."""
    write_property(folder, UNITS + SCENE)
    with rasterio.open(
        folder / "picture.tif",
        "w",
        driver="GTiff",
        width=300_000,
        height=300_000,
        count=1,
        dtype="float32",
        crs="EPSG:32614",
        transform=rasterio.Affine(0.005, 0, 585_000, 0, -0.005, 4_429_500),
        sparse_ok=True,
        tiled=True,
        bigtiff=True,
        blockxsize=16384,
        blockysize=16384,
    ):
        pass
    return RUN


@maker
def escapes_in_dbf(folder, url):
    """Names of units that are orders to a terminal."""
    shapes = dict(zip(("\x1b[31mA", "\x9b2JB"), squares().values(), strict=True))
    write_property(folder, UNITS.replace("units.geojson", "map.shp"))
    write_map(folder / "map.shp", shapes, "ESRI Shapefile")
    return RUN


@maker
def escapes_in_geojson(folder, url):
    """The same, and a column."""
    write_property(folder)
    shapes = dict(zip(("\x1b[31mA", "\u202eB"), squares().values(), strict=True))
    text = json.dumps(collection(shapes)).replace('"UNIT"', '"UNIT\\u001b[5m"')
    (folder / "units.geojson").write_text(text)
    return CHECK


@maker
def escapes_in_layer(folder, url):
    """Layers of a GeoPackage whose names are orders to a terminal."""
    write_property(folder, UNITS.replace("units.geojson", "map.gpkg"))
    write_map(folder / "map.gpkg", squares())
    import geopandas as gpd

    frame = gpd.GeoDataFrame(geometry=list(squares().values()), crs=4326)
    frame.to_file(folder / "map.gpkg", layer="\x1b[31mred", engine="pyogrio")
    return CHECK


@maker
def start_escapes(folder, url):
    """File names, layers, columns and values that are orders to a terminal, seen by a look."""
    escapes_in_layer(folder, url)
    escapes_in_dbf(folder, url)
    shutil.copy(folder / "units.geojson", folder / "\x1b[31munits.geojson")
    (folder / "\x1b[2Jlots.csv").write_text("\x1b[31mlot,species\n\x1b[5m1,2\n")
    return ("start", ".", "--explain")


@maker
def name_not_utf8(folder, url):
    """Files whose names are no text."""
    write_property(folder)
    shutil.copy(folder / "units.geojson", folder / "unit\udcff.geojson")
    write_picture(folder / "picture.tif")
    shutil.copy(folder / "picture.tif", folder / "picture\udcff.tif")
    (folder / "lots\udcff.csv").write_text(LOTS)
    return START


@maker
def property_not_utf8(folder, url):
    """A property file whose name is no text."""
    write_property(folder)
    (folder / "small.toml").rename(folder / "small\udcff.toml")
    return ("run", "small\udcff.toml")


@maker
def folder_not_utf8(folder, url):
    """A folder whose name is no text, in which a run is written."""
    inner = folder / "place"
    inner.mkdir()
    write_property(inner, UNITS + SCENE)
    write_picture(inner / "picture.tif")
    inner.rename(folder / "place\udcff")
    return ("run", "place\udcff/small.toml")


@maker
def unit_of_many_parts(folder, url):
    """A unit of 1,200 specks with a burn."""
    from tests.hostile.ground import BURN

    write_property(folder, UNITS, BURN)
    specks = [
        shapely.box(LEFT, BOTTOM, LEFT + 0.0002, BOTTOM + 0.0002)
        for n in range(1200)
        for LEFT, BOTTOM in [(-96 + n % 40 * 0.0004, 40 + n // 40 * 0.0004)]
    ]
    shapes = {"A": shapely.MultiPolygon(specks), "B": shapely.box(-96.01, 40, -96.005, 40.005)}
    (folder / "units.geojson").write_text(json.dumps(collection(shapes)))
    return RUN


@maker
def deep_geojson(folder, url):
    """JSON of lists in lists."""
    write_property(folder)
    (folder / "units.geojson").write_text('{"a":' + "[" * 500_000 + "]" * 500_000 + "}")
    return CHECK


@maker
def infinite_geojson(folder, url):
    """Corners that are no numbers."""
    write_property(folder)
    text = json.dumps(collection(squares())).replace("-96.0", "1e999", 1)
    (folder / "units.geojson").write_text(text)
    return CHECK
