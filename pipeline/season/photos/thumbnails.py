"""Photos for the report, as many as fit."""

from base64 import b64encode

import pandas as pd

from pipeline.core.layer import empty
from pipeline.pictures.thumbnails import thumbnail
from pipeline.season.photos.layers import PHOTO_THUMBNAILS
from pipeline.season.photos.settings import PhotoSettings

BYTES_PER_MB = 1_000_000


def make_thumbnails(
    photos: pd.DataFrame, photo_files: pd.DataFrame, settings: PhotoSettings
) -> pd.DataFrame:
    """Table ``photo_thumbnails``: photos that count, newest first, until they fill their room."""
    counted = photos[photos["standing"] == "counts"]
    newest = counted.sort_values(["date", "point", "file"], ascending=[False, True, True])
    paths = dict(zip(photo_files["file"], photo_files["path"], strict=True))
    room = settings.thumbnails_mb * BYTES_PER_MB
    rows = []
    for file in newest["file"] if settings.thumbnails else ():
        small = thumbnail(paths[file], settings.thumbnail_pixels)
        if small is None:
            continue
        width, height, jpeg = small
        text = b64encode(jpeg).decode("ascii")
        room -= len(text)
        if room < 0:
            break
        rows.append({"file": file, "width": width, "height": height, "jpeg": text})
    return pd.DataFrame(rows) if rows else empty(PHOTO_THUMBNAILS)
