"""Photos made small: the right size, upright, and nothing of the file but its pixels."""

import warnings

import numpy as np
import pytest
import rasterio
from rasterio.errors import NotGeoreferencedWarning
from rasterio.io import MemoryFile

from pipeline.pictures.thumbnails import thumbnail
from tests.made_photos import encoded, picture, with_tags


def shown(path, most=60):
    width, height, jpeg = thumbnail(str(path), most)
    pixels, tags = decoded(jpeg)
    assert pixels.shape[1:] == (height, width)
    return pixels, tags


def decoded(jpeg):
    with warnings.catch_warnings(), MemoryFile(jpeg) as memory:
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        with memory.open(driver="JPEG") as photo:
            return photo.read(), photo.tags()


def bright_corner(pixels):
    """Which corner of a picture is bright: rows from the top, columns from the left."""
    height, width = pixels.shape[1:]
    corners = {
        (down, across): pixels[:, down * (height - 8) : down * (height - 8) + 8][
            :, :, across * (width - 8) : across * (width - 8) + 8
        ].mean()
        for down in (0, 1)
        for across in (0, 1)
    }
    return max(corners, key=corners.get)


# TIFF 6.0, tag 274: what row 0 and column 0 of the stored picture are; from them, by hand, where
# its upper left corner belongs, and whether its sides change places.
@pytest.mark.parametrize(
    ("orientation", "corner", "turned"),
    [
        (1, (0, 0), False),
        (2, (0, 1), False),
        (3, (1, 1), False),
        (4, (1, 0), False),
        (5, (0, 0), True),
        (6, (0, 1), True),
        (7, (1, 1), True),
        (8, (1, 0), True),
    ],
)
def test_a_photo_is_turned_upright(tmp_path, orientation, corner, turned):
    path = tmp_path / "a.jpg"
    path.write_bytes(with_tags(encoded(picture()), orientation=orientation))
    pixels, _ = shown(path)
    assert pixels.shape[1:] == ((60, 40) if turned else (40, 60))
    assert bright_corner(pixels) == corner


def test_the_longer_side_is_as_asked_and_no_photo_grows(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(encoded(picture(600, 400)))
    assert shown(path, 90)[0].shape == (3, 60, 90)
    assert shown(path, 900)[0].shape == (3, 400, 600)


def test_what_the_camera_wrote_is_not_handed_on(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(with_tags(encoded(picture()), taken="2026:06:14 10:15:00"))
    assert not [name for name in shown(path)[1] if name.startswith("EXIF")]


def test_colors_of_a_palette_are_shown_and_not_their_numbers(tmp_path):
    path = tmp_path / "a.png"
    numbers = (picture(bands=1) > 100).astype(np.uint8)
    with rasterio.Env(GDAL_PAM_ENABLED="NO"):
        path.write_bytes(encoded(numbers, "PNG", colors={0: (0, 0, 90), 1: (250, 200, 10)}))
    red, green, blue = shown(path)[0][:, 3, 3]
    assert abs(int(red) - 250) < 12
    assert abs(int(green) - 200) < 12
    assert abs(int(blue) - 10) < 12


def test_clear_gray_and_deep_png_are_shown(tmp_path):
    path = tmp_path / "a.png"
    clear = np.concatenate([picture(), np.zeros((1, 40, 60), np.uint8)])
    path.write_bytes(encoded(clear, "PNG"))
    assert shown(path)[0].min() > 250
    path.write_bytes(encoded(picture(bands=1), "PNG"))
    assert bright_corner(shown(path)[0]) == (0, 0)
    path.write_bytes(encoded(picture().astype(np.uint16) * 257, "PNG"))
    assert abs(int(shown(path)[0][0, 2, 2]) - 220) < 12


@pytest.mark.parametrize("content", [b"", b"not a photo", encoded(picture(900, 900))[:3000]])
def test_a_photo_that_cannot_be_read_is_none(tmp_path, content):
    path = tmp_path / "a.jpg"
    path.write_bytes(content)
    assert thumbnail(str(path), 60) is None


def test_nothing_is_written_beside_a_photo(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(encoded(picture()))
    shown(path)
    assert list(tmp_path.iterdir()) == [path]
