"""What is wrong with the tables of plants, rules and days, told before anything is computed."""

import geopandas as gpd
import pandas as pd

from pipeline.core.errors import Fault
from pipeline.season.facts import known_facts
from pipeline.season.fuel.green_up import green_up_faults
from pipeline.season.limits import day_faults
from pipeline.season.photos.points import photo_faults
from pipeline.season.plants.patches import patch_faults
from pipeline.season.plants.surveys import class_faults
from pipeline.season.road.rules import read_road_rules
from pipeline.season.rules import read_rules


def season_faults(
    plants: pd.DataFrame,
    drawn_photo_points: gpd.GeoDataFrame,
    photo_files: pd.DataFrame,
    photo_list: pd.DataFrame,
    patches: gpd.GeoDataFrame,
    season_rules: pd.DataFrame,
    road_rules: pd.DataFrame,
    green_up: pd.DataFrame,
    nesting_seasons: pd.DataFrame,
    unit_limits: pd.DataFrame,
) -> list[Fault]:
    """Cover classes, patches, photos, rules and days of the year that cannot be read."""
    return [
        *class_faults(plants),
        *patch_faults(patches),
        *photo_faults(drawn_photo_points, photo_files, photo_list),
        *read_rules(season_rules, known_facts())[1],
        *read_road_rules(road_rules)[1],
        *green_up_faults(green_up),
        *day_faults(nesting_seasons, unit_limits),
    ]
