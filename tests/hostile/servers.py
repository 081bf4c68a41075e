"""Pictures, side files and maps that are text and name a server: nothing may call there."""

import json

import rasterio

from tests.hostile.ground import (
    CHECK,
    HEIGHTS,
    RUN,
    SCENE,
    START,
    UNITS,
    write_picture,
    write_property,
)
from tests.hostile.registry import MAKERS, maker

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
