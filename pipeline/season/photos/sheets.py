"""The tables of photo points that people read."""

from pipeline.core.table import Table
from pipeline.season.photos.layers import PHOTO_POINTS, PHOTO_WINDOWS, PHOTOS

POINTS_TABLE = Table(
    PHOTO_POINTS,
    "Photo points",
    (
        "point",
        "unit_id",
        "bearing_deg",
        "compass_deg",
        "height_ft",
        "photos",
        "years",
        "missed",
        "newest",
    ),
    below=("note",),
    about="Stand on the point and look in the direction told, counted from true north. A compass "
    "shows magnetic north: set the declination of place and year on it. Compass: the reading of "
    "one that is not set, by the declination of the settings.",
)


WINDOWS_TABLE = Table(
    PHOTO_WINDOWS,
    "When they are due this season",
    ("point", "unit_id", "first_day", "last_day", "years", "taken"),
    about="At the usual time of the year, so that one stage of growth is held against another.",
)


PHOTOS_TABLE = Table(
    PHOTOS,
    "Every photo and what it counts for",
    ("file", "point", "unit_id", "date", "date_from", "standing", "width", "height"),
)
