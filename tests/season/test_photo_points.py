"""Photo points: which unit, which file, which day, which years, and when the next is due."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.season.photos.file_names import list_photos, points_named
from pipeline.season.photos.findings import find_photos
from pipeline.season.photos.points import (
    count_photo_years,
    list_photo_windows,
    measure_photo_points,
    photo_faults,
    usual_windows,
)
from pipeline.season.photos.settings import PhotoSettings
from pipeline.work.tasks.photo_tasks import list_photo_tasks
from tests.literal_layers import literal_layer
from tests.made_season import PLANE, property_row

FT = 0.3048
PROPERTY = property_row(as_of="2026-11-15")


def two_units():
    """Units A and B, which touch along a line to the north."""
    columns = dict.fromkeys(LAYERS["units"].column_names, 0.0)
    columns |= {"unit_id": ["A", "B"], "name": None, "cover": None}
    shapes = [shapely.box(0, 0, 400, 400), shapely.box(400, 0, 800, 400)]
    return conform(gpd.GeoDataFrame(columns, geometry=shapes, crs=PLANE), LAYERS["units"], PLANE)


def drawn(*rows):
    """Photo points: name, unit, bearing, place."""
    told = [{"point": p, "unit_id": u, "bearing_deg": b} for p, u, b, _ in rows]
    places = [shapely.Point(place) for *_, place in rows]
    return literal_layer("drawn_photo_points", told, shapes=places, crs=PLANE)


def files(*names, **more):
    """Files of a folder of photos: names with their day in them."""
    rows = [{"file": name, "path": name, "width": 60, "height": 40, **more} for name in names]
    frame = literal_layer("photo_files", rows)
    found = frame["file"].str.extract(r"(\d{4}-\d\d-\d\d)")[0]
    return frame.assign(name_date=pd.to_datetime(found).astype("datetime64[s]"))


def photos_of(points, names, photo_list=(), property=PROPERTY, **more):
    return list_photos(
        two_units(),
        points,
        files(*names, **more),
        literal_layer("photo_list", list(photo_list)),
        property,
        PhotoSettings(),
    )


def measured(points, names, **choices):
    photos, settings = photos_of(points, names), PhotoSettings(**choices)
    windows = list_photo_windows(photos, PROPERTY, settings)
    years = count_photo_years(photos, windows, PROPERTY)
    rows = measure_photo_points(two_units(), points, photos, years, settings)
    return rows.set_index("point")


# --- which unit -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("unit_id", "bearing", "place", "unit", "placed"),
    [
        (None, None, (100, 100), "A", "by_place"),
        (None, 90, (400, 200), "B", "by_view"),
        (None, 270, (400, 200), "A", "by_view"),
        (None, 0, (400, 200), None, "on_border"),
        (None, None, (400, 200), None, "on_border"),
        (None, 90, (400 - 14 * FT, 200), "B", "by_view"),
        (None, None, (400 - 16 * FT, 200), "A", "by_place"),
        ("A", 90, (400, 200), "A", "as_told"),
        ("B", None, (100, 100), "B", "elsewhere"),
        (None, None, (-16 * FT, 100), None, "outside"),
        (None, 90, (-14 * FT, 100), "A", "by_place"),
    ],
)
def test_unit_of_a_point(unit_id, bearing, place, unit, placed):
    row = measured(drawn(("N", unit_id, bearing, place)), []).loc["N"]
    assert (row["unit_id"] if pd.notna(row["unit_id"]) else None, row["placed"]) == (unit, placed)


def test_an_east_declination_is_taken_from_the_true_bearing():
    # By hand, as the USGS puts it: declination east, magnetic bearing least; 5° less 8° is 357°.
    points = drawn(("N", None, 245, (100, 100)), ("S", None, 5, (200, 100)))
    compass = measured(points, [], declination_deg=8.0)["compass_deg"]
    assert list(compass) == [237, 357]
    assert measured(points, [])["compass_deg"].isna().all()


# --- which point, which day -----------------------------------------------------------------------

NAMES = {"p 1": "P-1", "p 10": "P-10", "14": "14", "north post": "North post"}


@pytest.mark.parametrize(
    ("file", "found"),
    [
        ("P-1_2026-06-14.jpg", ["P-1"]),
        ("P-10 2026-06-14.jpg", ["P-10"]),
        ("p_10/IMG_20260614.jpg", ["P-10"]),
        ("North-Post 2026.06.jpg", ["North post"]),
        ("walk 2026-06-14.jpg", []),
        ("IMG_0014.jpg", []),
        ("14_2026-06-15.jpg", ["14"]),
        ("P-1 and P-10 2026-06-15.jpg", ["P-1", "P-10"]),
        ("P-100.jpg", []),
    ],
)
def test_the_point_is_read_from_the_name_and_never_from_the_day(file, found):
    assert points_named(file, NAMES) == found


POINTS = drawn(("P-1", None, 90, (100, 100)), ("P-2", None, None, (600, 100)))


def test_every_file_is_a_row_with_what_it_counts_for():
    rows = photos_of(
        POINTS,
        [
            "P-1 2026-06-14.jpg",
            "P-1 2026-06-14b.jpg",
            "P-2 2027-01-01.jpg",
            "P-2 no day.jpg",
            "walk 2026-06-14.jpg",
            "P-1 P-2 2026-06-14.jpg",
        ],
    )
    assert dict(zip(rows["file"], rows["standing"], strict=True)) == {
        "P-1 2026-06-14.jpg": "counts",
        "P-1 2026-06-14b.jpg": "counts",
        "P-2 2027-01-01.jpg": "ahead",
        "P-2 no day.jpg": "no_date",
        "walk 2026-06-14.jpg": "no_point",
        "P-1 P-2 2026-06-14.jpg": "several_points",
    }


def test_the_list_goes_before_the_name_and_a_row_without_a_file_is_told():
    told = [
        {"file": "DSC1.JPG", "point": "p 2", "date": "2025-06-01"},
        {"file": "P-1 2026-06-14.jpg", "date": "2026-06-13"},
        {"file": "gone.jpg", "point": "P-1", "date": "2024-06-13"},
    ]
    rows = photos_of(POINTS, ["walk/dsc1.jpg", "P-1 2026-06-14.jpg"], told).set_index("file")
    told = rows[["point", "date", "date_from", "standing"]]
    assert list(told.loc["walk/dsc1.jpg"]) == ["P-2", pd.Timestamp("2025-06-01"), "list", "counts"]
    day = pd.Timestamp("2026-06-13")
    assert list(told.loc["P-1 2026-06-14.jpg"]) == ["P-1", day, "list", "counts"]
    assert rows.loc["gone.jpg", "standing"] == "no_file"
    assert len(rows) == 3


def test_a_camera_s_clock_that_tells_another_day_is_told():
    found = [("P-1 2026-06-14.jpg", "2026-06-15"), ("P-1 2025-06-14.jpg", "2026-06-14")]
    cameras = files(*(name for name, _ in found))
    days = pd.to_datetime([day for _, day in found]).astype("datetime64[s]")
    cameras = cameras.assign(camera_date=days)
    nothing = literal_layer("photo_list", [])
    photos = list_photos(two_units(), POINTS, cameras, nothing, PROPERTY, PhotoSettings())
    points = measured(POINTS, []).reset_index()
    told = find_photos(
        two_units(), points, photos, cameras, literal_layer("photo_thumbnails", []), PhotoSettings()
    )
    (words,) = told.loc[told["code"] == "photo_dates_differ", "message"]
    assert "P-1 2025-06-14.jpg (2025-06-14, camera 2026-06-14)" in words
    assert words.startswith("1 photos")


def test_a_camera_s_day_counts_where_nothing_else_tells_one():
    rows = photos_of(POINTS, ["P-1 a.jpg"], camera_date="2026-06-14")
    assert list(rows["date_from"]) == ["camera"]
    assert list(rows["standing"]) == ["counts"]


def test_points_of_one_name_and_points_that_are_not_there_are_refused():
    twice = drawn(("P-1", None, 90, (100, 100)), ("p 1", None, 90, (200, 100)))
    listed = literal_layer("photo_list", [{"file": "a.jpg", "point": "P-3"}])
    faults = photo_faults(twice, files("a.jpg"), listed)
    assert [fault.found for fault in faults] == [
        '"P-1" stands 2 times',
        'point "P-3" is not on the map',
    ]
    nothing = literal_layer("photo_list", [])
    assert len(photo_faults(drawn(), files("a.jpg"), nothing)) == 1
    assert len(photo_faults(POINTS, files(), listed[:1])) == 2


# --- which years, when due ------------------------------------------------------------------------


def test_years_between_the_first_and_the_last_that_is_over_are_missed():
    # As of 15 November 2026 the June days of 2026 are over, those around 1 December are not.
    names = ["P-1 2023-06-14.jpg", "P-1 2025-06-20.jpg", "P-2 2025-12-01.jpg"]
    rows = measured(POINTS, names)
    assert rows.loc["P-1", "missed"] == "2024, 2026"
    assert rows.loc["P-1", "years"] == "2023, 2025"
    assert pd.isna(rows.loc["P-2", "missed"])


def test_days_further_apart_than_two_spans_are_times_of_their_own():
    days = [pd.Timestamp(day) for day in ("2024-06-14", "2025-06-20", "2025-04-18", "2026-04-20")]
    assert [(w.middle, sorted(w.years)) for w in usual_windows(days, 14)] == [
        (109, [2025, 2026]),
        (168, [2024, 2025]),
    ]


def test_a_point_is_due_two_weeks_around_its_day_unless_it_was_taken():
    # 14 June is day 165 of a common year: 31 May to 28 June.
    names = ["P-1 2025-06-14.jpg", "P-2 2025-06-14.jpg", "P-2 2027-06-20.jpg"]
    photos = photos_of(POINTS, names, property=property_row(as_of="2027-07-01"))
    windows = list_photo_windows(photos, PROPERTY, PhotoSettings())
    assert [f"{d:%Y-%m-%d}" for d in windows["first_day"]] == ["2027-05-31"] * 2
    assert [f"{d:%Y-%m-%d}" for d in windows["last_day"]] == ["2027-06-28"] * 2
    assert list(windows["taken"]) == [False, True]


def test_points_due_on_nearly_the_same_days_are_one_round():
    names = ["P-1 2025-06-14.jpg", "P-2 2025-06-20.jpg", "P-2 2025-09-01.jpg"]
    photos, settings = photos_of(POINTS, names), PhotoSettings()
    windows = list_photo_windows(photos, PROPERTY, settings)
    points = measured(POINTS, names).reset_index()
    tasks = list_photo_tasks(windows, points, settings)
    assert list(tasks["amount"]) == [2, 1]
    days = [f"{day:%m-%d}" for day in (tasks["first_day"][0], tasks["due"][0])]
    assert days == ["06-06", "06-28"], "the days that both share"
    assert tasks["names"][0] == "P-1 looking 90°, P-2"
    assert list(tasks["unit_id"].fillna("")) == ["", "B"]
