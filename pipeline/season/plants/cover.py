"""What came up: cover and frequency of each species and group, survey by survey."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.student_t import t_multiplier
from pipeline.season.plants.groups import group_codes
from pipeline.season.plants.layers import PLANT_COVER, PLANT_GROUPS
from pipeline.season.plants.surveys import (
    Surveys,
    mean_interval_pct,
    on_transects,
    read_surveys,
    usable_rows,
)
from pipeline.season.settings import CommunitySettings


def grouped_surveys(
    plants: pd.DataFrame,
    plant_species: pd.DataFrame,
    property: pd.DataFrame,
    settings: CommunitySettings,
) -> Surveys:
    """The surveys, with the group of each species in their covers."""
    surveys = read_surveys(plants, plant_species, settings)
    group = group_codes(surveys.covers, property["state"].iloc[0])
    return surveys._replace(covers=surveys.covers.assign(group=group))


def list_plant_cover(
    plants: pd.DataFrame,
    plant_species: pd.DataFrame,
    property: pd.DataFrame,
    settings: CommunitySettings,
) -> pd.DataFrame:
    """Table ``plant_cover``: each species of each unit and survey."""
    surveys = grouped_surveys(plants, plant_species, property, settings)
    rows = [
        {
            "unit_id": unit_id,
            "date": day,
            "group": species["group"].iloc[0],
            "species": name,
            "common_name": species["common_name"].iloc[0],
            "told_as": ", ".join(sorted(set(species["told"]) - {name})) or None,
            "transects": len(read),
            "transects_with": len(species),
            "cover_pct": on_transects(species, pd.Index(read["transect"])).mean(),
            **frequency(read, species["frames_with"].sum(), len(species)),
        }
        for unit_id, day, read, covers in by_survey(surveys)
        for name, species in covers.groupby("species")
    ]
    return pd.DataFrame(rows, columns=PLANT_COVER.column_names) if rows else empty(PLANT_COVER)


def sum_plant_groups(
    plants: pd.DataFrame,
    plant_species: pd.DataFrame,
    property: pd.DataFrame,
    settings: CommunitySettings,
) -> pd.DataFrame:
    """Table ``plant_groups``: each group of each unit and survey, with its interval."""
    surveys = grouped_surveys(plants, plant_species, property, settings)
    frames_with = frames_by_group(surveys, usable_rows(plants, plant_species, settings))
    rows = []
    for unit_id, day, read, covers in by_survey(surveys):
        for group, members in covers.groupby("group"):
            values = on_transects(members, pd.Index(read["transect"]))
            few = len(values) < 2
            t = 0.0 if few else t_multiplier(len(values) - 1, settings.confidence_pct)
            low, high = mean_interval_pct(values, t)
            stands_on = members["transect"].nunique()
            rows.append(
                {
                    "unit_id": unit_id,
                    "date": day,
                    "group": group,
                    "species": members["species"].nunique(),
                    "transects": len(read),
                    "cover_pct": values.mean(),
                    "cover_low_pct": low if few else max(0.0, low),
                    "cover_high_pct": high,
                    **frequency(read, frames_with.get((unit_id, day, group), 0), stands_on),
                }
            )
    return pd.DataFrame(rows, columns=PLANT_GROUPS.column_names) if rows else empty(PLANT_GROUPS)


def by_survey(surveys: Surveys) -> Iterator[tuple[str, pd.Timestamp, pd.DataFrame, pd.DataFrame]]:
    """Each survey: its unit, its last day, the transects that it read, what stands on them."""
    covers = dict(list(surveys.covers.groupby(["unit_id", "survey"])))
    for (unit_id, day), read in surveys.read.groupby(["unit_id", "survey"]):
        yield unit_id, day, read, covers.get((unit_id, day), surveys.covers.iloc[:0])


def frequency(read: pd.DataFrame, frames_with: float, transects_with: int) -> dict[str, object]:
    """Share [percent] of the frames that a plant stands in; of the transects without frames.

    *Source*: BLM Technical Reference 1734-4 (1996, revised 1999): frames with the species in
    percent of all frames.
    """
    in_frames = bool((read["frames"] > 0).all())
    there, all_of_them = (
        (frames_with, read["frames"].sum()) if in_frames else (transects_with, len(read))
    )
    return {
        "frequency_pct": 100 * there / all_of_them,
        "frequency_of": "frames" if in_frames else "transects",
    }


def frames_by_group(surveys: Surveys, rows: pd.DataFrame) -> dict[tuple[object, ...], int]:
    """Frames of each unit, survey and group that any plant of the group stands in."""
    groups = dict(zip(surveys.covers["species"], surveys.covers["group"], strict=True))
    there = rows[(rows["cover"] > 0) & rows["frame"].notna()]
    there = there.assign(group=there["species"].map(groups))
    frames = there.drop_duplicates(["unit_id", "survey", "transect", "frame", "group"])
    counts = frames.groupby(["unit_id", "survey", "group"]).size()
    return dict(zip(counts.index, counts, strict=True))
