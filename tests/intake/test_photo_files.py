"""A folder of photos from a stranger: every file is a row, used or with what is wrong with it."""

import os

import pytest

from pipeline.catalog import LAYERS
from pipeline.intake.photo_files import LARGEST_BYTES, read_photo_files
from pipeline.intake.settings import FolderSource
from tests.made_photos import JPEG, encoded, picture, with_tags

LAYER = LAYERS["photo_files"]


def read(folder, path="photos"):
    return read_photo_files(FolderSource(path=path), LAYER, folder, ())


@pytest.fixture
def photos(tmp_path):
    folder = tmp_path / "photos"
    folder.mkdir()
    return folder


def told(folder, column):
    frame = read(folder).frame
    return dict(zip(frame["file"], frame[column], strict=True))


def test_each_odd_file_is_told_and_the_good_one_is_used(photos):
    (photos / "good.jpg").write_bytes(JPEG)
    (photos / "text.jpg").write_text("west fence, looking east")
    (photos / "empty.jpg").touch()
    (photos / "notes.txt").write_text("x")
    (photos / "phone.heic").write_bytes(b"\0\0\0\x18ftypheic")
    with (photos / "huge.jpg").open("wb") as sparse:
        sparse.write(JPEG)
        sparse.truncate(200_000_000)
    (photos / "cut.png").write_bytes(encoded(picture(), "PNG")[:20])
    (photos / "Thumbs.db").write_bytes(b"x")
    problems = {k: v for k, v in told(photos.parent, "problem").items() if v is not None}
    assert problems.pop("cut.png") in ("unreadable", "not_a_photo")
    assert problems == {
        "text.jpg": "not_a_photo",
        "empty.jpg": "empty",
        "notes.txt": "other_format",
        "phone.heic": "other_format",
        "huge.jpg": "too_large",
    }
    row = read(photos.parent).source_row
    assert (row["rows_read"], row["rows_used"]) == (7, 1)
    assert LARGEST_BYTES < 200_000_000


def test_a_name_that_is_no_text_is_told_in_letters_that_are(photos):
    # An "é" of an old western system, alone, is no UTF-8.
    name = b"pr\xe9 2026-06-14.jpg"
    with open(os.path.join(os.fsencode(photos), name), "wb") as file:
        file.write(JPEG)
    assert told(photos.parent, "problem") == {"pr\\xe9 2026-06-14.jpg": "name_not_utf8"}


def test_a_link_out_of_the_folder_is_not_followed(photos):
    (photos.parent / "secret.jpg").write_bytes(JPEG)
    (photos / "link.jpg").symlink_to(photos.parent / "secret.jpg")
    (photos / "inside.jpg").write_bytes(JPEG)
    (photos / "other.jpg").symlink_to(photos / "inside.jpg")
    found = told(photos.parent, "problem")
    assert found == {"link.jpg": "outside", "inside.jpg": None, "other.jpg": None}


def test_days_come_from_the_name_and_from_the_camera(photos):
    (photos / "A 2026-06-14.jpg").write_bytes(with_tags(JPEG, taken="2025:01:02 03:04:05"))
    (photos / "IMG_0001.jpg").write_bytes(with_tags(JPEG, taken="2026:06:15 10:15:00"))
    (photos / "IMG_20260616_101500.jpg").write_bytes(JPEG)
    (photos / "no day.jpg").write_bytes(with_tags(JPEG, taken="0000:00:00 00:00:00"))
    frame = read(photos.parent).frame.set_index("file")
    days = frame[["name_date", "camera_date"]].astype(str).replace("nan", "NaT").fillna("NaT")
    assert days["name_date"].to_dict() == {
        "A 2026-06-14.jpg": "2026-06-14",
        "IMG_0001.jpg": "NaT",
        "IMG_20260616_101500.jpg": "2026-06-16",
        "no day.jpg": "NaT",
    }
    assert days["camera_date"].to_dict() == {
        "A 2026-06-14.jpg": "2025-01-02",
        "IMG_0001.jpg": "2026-06-15",
        "IMG_20260616_101500.jpg": "NaT",
        "no day.jpg": "NaT",
    }


def test_folders_inside_count_and_their_day_stands_for_their_files(photos):
    (photos / "North post" / "2026-06-14").mkdir(parents=True)
    (photos / "North post" / "2026-06-14" / "DSC1.jpg").write_bytes(JPEG)
    frame = read(photos.parent).frame
    assert list(frame["file"]) == ["North post/2026-06-14/DSC1.jpg"]
    assert str(frame["name_date"].iloc[0].date()) == "2026-06-14"


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("nowhere", "no folder at"),
        ("a.jpg", "is a file"),
        ("..", "lies outside"),
        ("/vsicurl/x", "virtual path"),
    ],
)
def test_a_folder_that_is_none_is_one_line(tmp_path, path, words):
    (tmp_path / "a.jpg").write_bytes(JPEG)
    (fault,) = read(tmp_path, path).faults
    assert words in fault.found


def test_the_checksum_tells_another_photo(photos):
    (photos / "a.jpg").write_bytes(JPEG)
    first = read(photos.parent).source_row["sha256"]
    (photos / "a.jpg").write_bytes(encoded(picture(80, 40)))
    assert read(photos.parent).source_row["sha256"] != first
