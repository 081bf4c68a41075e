"""Layers and tables of photo points, their photos, and when the next are due."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer, optional_count, optional_date, optional_text
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.season.photos.causes import CAUSES

POINT = Column("point", "text", "Name of the photo point.", "Point", aliases=("point_id", "name"))


NUMBER = Column("number", "integer", "Place in the list, from 1.", "Number")


FILE = Column("file", "text", "Photo file, from the folder of the photos on.", "File")


_UNIT = replace(UNIT_ID, nullable=True, required=False)


def _direction(name: str, meaning: str, heading: str, *aliases: str) -> Column:
    """A direction to look in, which may not be known."""
    return Column(
        name,
        "number",
        meaning,
        heading,
        0,
        nullable=True,
        required=False,
        lowest=0,
        highest=360,
        aliases=aliases,
    )


BEARING = _direction(
    "bearing_deg", "Direction the camera looks, from true north.", "Look", "bearing", "azimuth"
)


HEIGHT = Column(
    "height_ft",
    "number",
    "Height of the camera above the ground.",
    "Camera at",
    1,
    nullable=True,
    required=False,
    lowest=0,
    highest=400,
)


NOTE = optional_text("note", "How to find it, what stands in the picture.", "Note")


DRAWN_PHOTO_POINTS = Layer(
    "drawn_photo_points",
    "Point",
    "Photo points as they were marked: where one stands.",
    (POINT, _UNIT, BEARING, HEIGHT, NOTE),
    internal=True,
)


PROBLEMS = (
    "other_format",
    "empty",
    "too_large",
    "not_a_photo",
    "unreadable",
    "outside",
    "name_not_utf8",
)
"""Why a file is not used: neither JPEG nor PNG by its name; no bytes; larger than any camera makes;
a photo by its name alone; damaged; a link that leads out of the folder; a name that no text has."""


_SIZE = (
    optional_count("width", "Pixels across.", "Pixels across", 0),
    optional_count("height", "Pixels down.", "Pixels down", 0),
)


PHOTO_FILES = Layer(
    "photo_files",
    None,
    "Files of the folder of photos, each as its name and its own header tell it.",
    (
        FILE,
        optional_text("path", "Where it lies on this computer."),
        optional_date("name_date", "Day in its name."),
        optional_date("camera_date", "Day that the camera wrote into it."),
        *_SIZE,
        optional_text("problem", "Why it is not used.", choices=PROBLEMS),
    ),
    internal=True,
)


PHOTO_LIST = Layer(
    "photo_list",
    None,
    "Photos by hand: what is written here goes before the name of the file.",
    (
        FILE,
        replace(POINT, nullable=True, required=False),
        optional_date("date", "Day it was taken.", "Date"),
    ),
    key=("file",),
    internal=True,
)


STANDINGS = ("counts", "ahead", "no_point", "several_points", "no_date", "no_file", *PROBLEMS)
"""What a photo is used for: the series of its point; nothing, as its day lies ahead, as neither
list nor name tell one point or a day, or as the list names a file that is not there."""


DATES_FROM = ("list", "file_name", "camera")


PHOTOS = Layer(
    "photos",
    None,
    "Every file of the folder of photos and every row of their list: which point and day it is "
    "of, or why it is left out.",
    (
        NUMBER,
        replace(POINT, nullable=True),
        _UNIT,
        optional_date("date", "Day it was taken.", "Date"),
        FILE,
        optional_text(
            "date_from",
            "Where the day comes from: the list, the name of the file, or else the camera, whose "
            "clock may be wrong.",
            "Date from",
            choices=DATES_FROM,
        ),
        Column("standing", "text", "Whether it counts.", "Counts", choices=STANDINGS),
        *_SIZE,
    ),
    key=("number",),
)


PLACED = ("as_told", "by_place", "by_view", "on_border", "elsewhere", "outside")
"""How a point comes to its unit: told and there; by where it stands; on a border, by the unit that
it looks into; on a border, undecided; told, but standing elsewhere; in no unit."""


PHOTO_POINTS = Layer(
    "photo_points",
    "Point",
    "Photo points: where to stand, where to look, and which years are there.",
    (
        POINT,
        _UNIT,
        Column("placed", "text", "How it comes to its unit.", "Placed", choices=PLACED),
        optional_text("near_units", "Units it stands in or at the border of.", "Stands at"),
        BEARING,
        _direction(
            "compass_deg",
            "What a compass that is not set for the declination reads in that direction.",
            "Compass",
        ),
        HEIGHT,
        Column("photos", "integer", "Photos that count.", "Photos", 0, lowest=0),
        optional_text("years", "Years that have one.", "Years"),
        optional_text("missed", "Years since the first that have none.", "Missed"),
        optional_date("newest", "Day of the newest.", "Newest"),
        NOTE,
    ),
    key=("point",),
)


PHOTO_WINDOWS = Layer(
    "photo_windows",
    None,
    "Days of the season on which each point is photographed again: those of earlier photos, some "
    "days more or less.",
    (
        POINT,
        _UNIT,
        Column("first_day", "date", "First day it is due.", "From"),
        Column("last_day", "date", "Last day it is due.", "Until"),
        Column("years", "integer", "Years with a photo at that time of the year.", "Years", 0),
        Column("taken", "flag", "Whether one of this season is there.", "Taken"),
    ),
    key=("point", "first_day"),
)


PHOTO_YEARS = Layer(
    "photo_years",
    None,
    "Photos of each point by year, from its first on to the last year whose days are over; 0 is a "
    "year missed.",
    (
        POINT,
        _UNIT,
        Column("year", "integer", "Calendar year.", "Year"),
        Column("photos", "integer", "Photos that count.", "Photos", 0, lowest=0),
    ),
    key=("point", "year"),
)


PHOTO_THUMBNAILS = Layer(
    "photo_thumbnails",
    None,
    "Photos made small for the report, newest first as far as they fit; empty unless asked for.",
    (
        FILE,
        *_SIZE,
        Column("jpeg", "text", "The small photo: JPEG, in base 64.", "JPEG"),
    ),
    key=("file",),
)


PHOTO_FINDINGS = findings_layer("photo_findings", CAUSES)
