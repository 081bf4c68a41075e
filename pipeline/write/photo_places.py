"""Photo points for a GPS receiver: a place each, with where to look."""

from pathlib import Path

from pipeline.core.run import Run
from pipeline.pages.cautions import CAUTION
from pipeline.pages.photo_words import NORTH_NOTE, due_words, look_words
from pipeline.pages.words import plain, sentence
from pipeline.write.gps import Place, gpx_text, in_degrees


def write_photo_places(run: Run, path: Path) -> None:
    """Write ``photo_points.gpx``: a waypoint for each photo point."""
    points, windows = run.frames["photo_points"], run.frames["photo_windows"]
    places: list[Place] = []
    for row, degrees in zip(points.to_dict("records"), in_degrees(points.geometry), strict=True):
        told = [sentence(look_words(row))]
        if due := due_words(row["point"], windows):
            told.append(f"due {due}")
        if row["note"]:
            told.append(plain(row["note"]))
        places.append((row["point"], "photo point", "; ".join(told), degrees[0]))
    about = f"{NORTH_NOTE}. {CAUTION}"
    path.write_text(gpx_text(run, "photo points", about, places), encoding="utf-8")
