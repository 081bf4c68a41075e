"""Places of a block by number: one and the same number on its map and in its table."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.names import natural_key
from pipeline.core.units import M_PER_FT
from pipeline.fire.sheets import places, smoke_near
from pipeline.fire.smoke.layers import SMOKE_PLACES
from pipeline.ground.overlays import united
from pipeline.pages.packet.coordinates import Zone, coordinate_words
from pipeline.pages.packet.map_frames import Window
from pipeline.pages.packet.packet_table import ColumnWords, Filled, name_words, words_table
from pipeline.pages.packet.paper_drawing import STYLES, Drawn, mark
from pipeline.pages.symbols.looks import Look
from pipeline.pages.symbols.paper_symbols import BEYOND
from pipeline.pages.words import code_words, number_words, row_words, rows, wind_words

Frames = Mapping[str, gpd.GeoDataFrame]


MOST_GATES, MOST_WATER_PLACES, MOST_SMOKE_PLACES = 8, 4, 12
"""Gates, water places and places to keep smoke off on a block's sheet, the nearest first."""


@dataclass(frozen=True, slots=True)
class NumberedPlace:
    """A place: its name in a GPS receiver or none, what it is and asks for, where it is.

    A piece of ground is drawn as such and has no ``look`` of a mark.
    """

    number: int
    name: str
    what: str
    point: Any
    look: Look | None


Unnumbered = tuple[str, str, Any, Look | None]
"""Name in a receiver, what it is, point and look of a place."""


def places_of_block(block: Mapping[Any, Any], frames: Frames) -> list[NumberedPlace]:
    """Numbered places of a block: along its breaks, gates, water, ground to be kept, houses."""
    found = (
        *_along_breaks(block, frames["tie_ins"]),
        *_gates(block, frames["gates"]),
        *_water(block, frames["water_places"]),
        *_kept_ground(block, frames["excluded_ground"]),
        *_smoke_places(block, frames),
    )
    return [NumberedPlace(number, *place) for number, place in enumerate(found, 1)]


def gates_near(shape: Any, gates: gpd.GeoDataFrame) -> list[NumberedPlace]:
    """Numbered gates near a shape."""
    found = _gates({"geometry": shape}, gates)
    return [NumberedPlace(number, *place) for number, place in enumerate(found, 1)]


def gates_of_property(gates: gpd.GeoDataFrame) -> list[NumberedPlace]:
    """All gates as people count them, by number."""
    ordered = sorted(rows(gates), key=lambda row: natural_key(str(row["gate_id"])))
    return [
        NumberedPlace(
            number,
            f"G{row['gate_id']}",
            "gate" if pd.isna(row["name"]) else f"gate {row['name']}",
            row["geometry"],
            _look("gates"),
        )
        for number, row in enumerate(ordered, 1)
    ]


def _along_breaks(block: Mapping[Any, Any], ties: gpd.GeoDataFrame) -> Iterator[Unnumbered]:
    of_block = rows(places(ties[ties["block"] == block["block"]]))
    for row in sorted(of_block, key=lambda row: natural_key(row["tie_in_id"])):
        what = f"{code_words(row['kind'])}: {row['what_to_do']}"
        yield row["tie_in_id"], what, row["geometry"], STYLES["tie_ins"].look(row)


def _gates(block: Mapping[Any, Any], gates: gpd.GeoDataFrame) -> Iterator[Unnumbered]:
    """Gates near a block, the nearest first, under the names that they have in a GPS receiver."""
    for row, away in _nearest(block, gates, MOST_GATES):
        name = "" if pd.isna(row["name"]) else f" {row['name']}"
        yield f"G{row['gate_id']}", f"gate{name}{away}", row["geometry"], _look("gates")


def _water(block: Mapping[Any, Any], water: gpd.GeoDataFrame) -> Iterator[Unnumbered]:
    """Where the crew may fill, the nearest first; what a place holds is seen on the day."""
    for row, away in _nearest(block, water, MOST_WATER_PLACES):
        what = f"{water_words(row)}{away}"
        yield f"W{row['water_id']}", what, row["geometry"], _look("water_places")


def water_words(row: Mapping[Any, Any]) -> str:
    """Water with its name and its kind, as far as known."""
    name = "" if pd.isna(row["name"]) else f" {row['name']}"
    kind = "" if pd.isna(row["kind"]) else f" ({row['kind']})"
    return f"water{name}{kind}"


def _nearest(
    block: Mapping[Any, Any], places: gpd.GeoDataFrame, most: int
) -> Iterator[tuple[dict[Any, Any], str]]:
    """The places nearest to a block, each with how far away it is in words."""
    away_ft = places.geometry.distance(block["geometry"]) / M_PER_FT
    nearest = places.assign(away_ft=away_ft).sort_values("away_ft", kind="stable")
    for row in rows(nearest[:most]):
        away = "" if row["away_ft"] < 0.5 else f", {number_words(row['away_ft'], 0)} ft away"
        yield row, away


def _kept_ground(block: Mapping[Any, Any], excluded: gpd.GeoDataFrame) -> Iterator[Unnumbered]:
    """Ground within a block that is not to be burned, from the northwest on."""
    ground = shapely.envelope(block["geometry"])
    kept = excluded[(excluded["applies_to"] != "seed") & excluded.intersects(ground)]
    around = shapely.convex_hull(united([block["geometry"]]))
    told = [row for row in rows(kept) if row["geometry"].representative_point().within(around)]
    for row in sorted(
        told, key=lambda row: (-row["geometry"].bounds[3], row["geometry"].bounds[0])
    ):
        kind = "ground" if pd.isna(row["kind"]) else row["kind"]
        yield "", f"{kind}: not to be burned", row["geometry"].representative_point(), None


def _smoke_places(block: Mapping[Any, Any], frames: Frames) -> Iterator[Unnumbered]:
    """Places that smoke must not drift onto, the nearest first."""
    for row in rows(smoke_places_near(block, frames)[:MOST_SMOKE_PLACES]):
        told = [
            f"keep smoke off: {row['kind']} {row['place_id']}, "
            f"{row_words(row, SMOKE_PLACES, 'distance_mi')} {wind_words(row['bearing_deg'])}",
            *([] if pd.isna(row["winds"]) else [f"reached by {row['winds']}"]),
            *(["in the planned wind too"] if row["planned_smoke"] == "reached" else []),
        ]
        point = row["geometry"].representative_point()
        yield "", "; ".join(told), point, _look("smoke_places")


def smoke_places_near(block: Mapping[Any, Any], frames: Frames) -> pd.DataFrame:
    """All places near a block that smoke must not drift onto, the nearest first."""
    of_block, of_arcs = frames["smoke_places"], frames["smoke_arcs"]
    name = block["block"]
    return smoke_near(of_block[of_block["block"] == name], of_arcs[of_arcs["block"] == name])


def _look(layer: str) -> Look:
    (look,) = STYLES[layer].looks
    return look


def places_table(
    numbered: Sequence[NumberedPlace], zone: Zone, crs: Any, *, box: str = "Done"
) -> Filled:
    """Table of the places: number, what, degrees, meters of the zone, name in a receiver, a box."""
    points = gpd.GeoSeries([place.point for place in numbered], crs=crs)
    told = [
        {"number": str(place.number), "what": place.what, "name": place.name or None}
        for place in numbered
    ]
    frame = pd.DataFrame(told, columns=["number", "what", "name"], dtype=object)
    columns: list[ColumnWords] = [
        ("No.", "number", "r", str),
        ("Place", "what", "l", name_words),
        ("Latitude", "latitude", "r", str),
        ("Longitude", "longitude", "r", str),
        (f"East m {zone.name}", "east", "r", str),
        (f"North m {zone.name}", "north", "r", str),
        ("In GPS", "name", "l", name_words),
    ]
    known = frame.join(coordinate_words(points, zone))
    return words_table(known, columns, wide="what", boxes=(box,))


Mark = tuple[int, float, float]
"""Number of a place and where its mark stands on paper."""


def marked(numbered: Sequence[NumberedPlace], window: Window, drawn: Drawn) -> list[Mark]:
    """Marks of the places; one beyond the map is an arrow at its edge, the way it lies."""
    marks = []
    for place in numbered:
        x, y = window.place(place.point)
        if window.holds(x, y):
            if place.look:
                drawn.add("point", place.look, [mark(place.look, x, y)])
            marks.append((place.number, x, y))
            continue
        x, y, turn_deg = window.toward(x, y)
        drawn.add("point", BEYOND, [mark(BEYOND, x, y, turn_deg=turn_deg)])
        marks.append((place.number, x, y))
    return marks
