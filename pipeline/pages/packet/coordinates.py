"""Places as a person types them into a receiver: decimal degrees, and meters of a UTM zone.

*Source*: NGA.STND.0037, universal grids (2014): zones of 6 degrees from 180 degrees west, counted
from 1; EPSG 32601 to 32660 north of the equator, 32701 to 32760 south of it, on WGS 84.
*Assumes* no zone of its own shape (southwest Norway, Svalbard).
"""

import math
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

DEGREES = 5
"""Decimals of a degree that are printed: about a meter."""


@dataclass(frozen=True, slots=True)
class Zone:
    """A zone of the universal transverse Mercator grid."""

    number: int
    south: bool

    @property
    def name(self) -> str:
        """Number and half of the globe, as 14N: no letter of a band, which 14S would be."""
        return f"{self.number}{'S' if self.south else 'N'}"

    @property
    def epsg(self) -> int:
        """Code of the grid on WGS 84."""
        return (32700 if self.south else 32600) + self.number


def zone_at(latitude_deg: float, longitude_deg: float) -> Zone:
    """Zone of a place [degree]."""
    return Zone(math.floor((longitude_deg + 180.0) / 6.0) % 60 + 1, latitude_deg < 0.0)


def zone_of(units: gpd.GeoDataFrame) -> Zone:
    """Zone of the middle of a property: all its places are told in this one."""
    if units.empty or not units.crs:
        return Zone(1, False)
    west, south, east, north = units.total_bounds
    middle = gpd.points_from_xy([(west + east) / 2], [(south + north) / 2], crs=units.crs)
    place = middle.to_crs(4326)[0]
    return zone_at(place.y, place.x)


def coordinate_words(points: gpd.GeoSeries, zone: Zone) -> pd.DataFrame:
    """Latitude, longitude, east and north of each point, as they are printed."""
    if points.empty:
        return pd.DataFrame(columns=["latitude", "longitude", "east", "north"], dtype=object)
    degrees, meters = points.to_crs(4326), points.to_crs(zone.epsg)
    return pd.DataFrame(
        {
            "latitude": [f"{point.y:.{DEGREES}f}" for point in degrees],
            "longitude": [f"{point.x:.{DEGREES}f}" for point in degrees],
            "east": [f"{point.x:.0f}" for point in meters],
            "north": [f"{point.y:.0f}" for point in meters],
        },
        index=points.index,
    )
