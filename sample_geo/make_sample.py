"""Make the computed files of the sample property again, the same every time.

Versions of PROJ place a point up to a millimeter apart, so a coordinate may differ by one in its
last digit.

Larkspindle Prairie does not exist. Its owner, its ground, its animals and all figures are made
up; names and numbers are realistic in size and nothing else. What a person would have typed
(treatments, mixes, seed lots) stands in CSV files beside this script, written by hand; what a
person would have traced, downloaded or measured comes from ``recipe/``:

- ``recipe/ground.py``   the true layout in a local plane, and the units as somebody traced them
- ``recipe/maps.py``     shapefiles, GeoJSON and KML of it
- ``recipe/scenes.py``   six NDVI pictures over three years and two reflectance pictures; the burn
  of April 2026 made P2 greener by 0.06 and P4 by 0.01 than the unburned pastures beside them
- ``recipe/heights.py``  heights of the ground, with a steep draw and a creek's valley
- ``recipe/air_photo.py``  the ground from above in color, for the maps of the packet
- ``recipe/records.py``  clip plots, plant transects and frames, weather
- ``recipe/photos.py``   drawn views from three photo points, over three years

Run it from anywhere: ``python sample_geo/make_sample.py --out some_folder``.
"""

import argparse
from pathlib import Path

from recipe.air_photo import write_air_photo
from recipe.heights import write_heights
from recipe.maps import write_maps
from recipe.photos import write_photos
from recipe.records import write_records
from recipe.scenes import write_scenes


def write_sample(folder: Path) -> None:
    """Write every computed file of the sample property into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    write_maps(folder)
    write_scenes(folder)
    write_heights(folder)
    write_air_photo(folder)
    write_records(folder)
    write_photos(folder / "photos")


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description="Make the sample property's files again.")
    parser.add_argument("--out", type=Path, default=Path(__file__).parent)
    write_sample(parser.parse_args().out)


if __name__ == "__main__":
    main()
