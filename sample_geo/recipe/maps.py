"""The map files of the sample property, each in a format that such folders are full of."""

from pathlib import Path

import geopandas as gpd
import pyogrio
import shapely

from recipe import ground

UTM_14N = "EPSG:26914"  # the property reaches across its eastern edge, as real ones do
DRAWN_ON = "2026-11-02"  # stands in the header of the .dbf files


def write_shapefile(frame: gpd.GeoDataFrame, path: Path) -> None:
    """A shapefile in UTM zone 14, coordinates to the centimeter."""
    there = frame.to_crs(UTM_14N)
    there.geometry = shapely.transform(there.geometry.to_numpy(), lambda xy: xy.round(2))
    pyogrio.write_dataframe(
        there, path, driver="ESRI Shapefile", encoding="UTF-8", DBF_DATE_LAST_UPDATE=DRAWN_ON
    )


def write_geojson(frame: gpd.GeoDataFrame, path: Path) -> None:
    """GeoJSON in longitude and latitude, seven decimals."""
    pyogrio.write_dataframe(
        frame.to_crs(4326), path, driver="GeoJSON", COORDINATE_PRECISION="7", RFC7946="YES"
    )


def write_kml(frame: gpd.GeoDataFrame, path: Path) -> None:
    """KML, as a line drawn over a satellite picture is saved."""
    there = frame.to_crs(4326)
    there.geometry = shapely.transform(there.geometry.to_numpy(), lambda xy: xy.round(7))
    path.unlink(missing_ok=True)  # an old file would be opened and written into, in another style
    pyogrio.write_dataframe(there, path, driver="KML", layer=path.stem)


def write_maps(folder: Path) -> None:
    """All map files of the sample property."""
    write_shapefile(ground.units_frame(), folder / "units.shp")
    write_shapefile(ground.roads_frame(), folder / "roads.shp")
    write_geojson(ground.exclusions_frame(), folder / "exclusions.geojson")
    write_kml(ground.creek_frame(), folder / "creek.kml")
    write_geojson(ground.neighbor_frame(), folder / "neighbor_field.geojson")
    write_geojson(ground.smoke_points_frame(), folder / "smoke_points.geojson")
    write_geojson(ground.gates_frame(), folder / "gates.geojson")
    write_geojson(ground.water_places_frame(), folder / "water_places.geojson")
    write_geojson(ground.photo_points_frame(), folder / "photo_points.geojson")
    write_geojson(ground.burned_areas_frame(), folder / "burned_areas.geojson")
    write_geojson(ground.patches_frame(), folder / "patches.geojson")
