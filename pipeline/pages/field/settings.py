"""Settings of the files for the field, and how they are read back from a finished run."""

from typing import Literal

import pandas as pd

from pipeline.core.section import COMMON_PRACTICE, Section, setting


class GpsSettings(Section):
    """[gps]"""

    points_per_track: int = setting(
        500,
        ge=2,
        le=100_000,
        dimensionless=True,
        meaning="Most points of a track. A longer one is split into several that meet.",
        source=COMMON_PRACTICE + "; receivers that save 500 points of a track are told of",
    )
    points_per_route: int = setting(
        250,
        ge=2,
        le=100_000,
        dimensionless=True,
        meaning="Most points of a route. A longer one is split into several that meet, between "
        "two passes where that can be.",
        source=COMMON_PRACTICE,
    )
    thin_ft: float = setting(
        0.5,
        ge=0,
        le=50,
        meaning="Points are left out of lines that stay within this of where they were; 0 for "
        "none. Nothing is thinned further to fit a limit of points.",
        source=COMMON_PRACTICE + "; no more than passes overlap",
    )
    shortest_track_ft: float = setting(
        20.0,
        ge=0,
        le=1000,
        meaning="A pass shorter than this has no track of its own: it is a further piece of the "
        "track beside it.",
        source=COMMON_PRACTICE,
    )
    passes_as: Literal["both", "routes", "tracks"] = setting(
        "both",
        meaning="Passes of the mower: routes to follow, joined in the order in which they are "
        "driven, tracks to look at, or both.",
        source=COMMON_PRACTICE,
    )


def gps_settings(settings: pd.DataFrame) -> GpsSettings:
    """The settings that a run was made with, from its table of settings."""
    used = settings[settings["section"] == "gps"]
    return GpsSettings.model_validate(dict(zip(used["setting"], used["value"], strict=True)))


def mower_words(settings: pd.DataFrame) -> str:
    """The mower by its cutting width: ``mower 6 ft``."""
    mowing = settings[settings["section"] == "mowing"].set_index("setting")["value"]
    return f"mower {float(mowing.get('mower_width_ft', 6.0)):g} ft"
