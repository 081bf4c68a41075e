"""Plant records as surveys: the cover and the frames of each species on each transect."""

from typing import NamedTuple

import numpy as np
import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.species_names import resolved_column, species_value
from pipeline.season.plants.ground_words import ground_of
from pipeline.season.settings import CommunitySettings

MIDPOINT_PCT_BY_CLASS = {
    "0": 0.0,
    "T": 0.5,
    "1": 2.5,
    "2": 15.0,
    "3": 37.5,
    "4": 62.5,
    "5": 85.0,
    "6": 97.5,
}
"""Canopy-cover classes. *Source*: BLM Technical Reference 1734-4 (1996, revised 1999), method D;
T, less than 1 %, from the modified scale of the same reference."""


TRANSECT = ["unit_id", "survey", "transect"]
"""What one reading of one transect is known by; a survey goes by its last day."""


SPECIES_COLUMNS = (
    "common_name",
    "nativity",
    "growth",
    "invader",
    "noxious_in",
    "coefficient_of_conservatism",
    "c_list",
)


class Surveys(NamedTuple):
    """Plant records in two tables.

    ``read`` has a row for each transect that a survey read, with its ``frames`` (0: read as a
    whole). ``covers`` has a row for each species that stands on it: its ``cover`` [percent], mean
    of the frames, the frames that it stands in, and what the table of species says of it. What is
    no plant has a code of ``ground``.
    """

    read: pd.DataFrame
    covers: pd.DataFrame


def cover_of_classes_pct(classes: pd.Series) -> pd.Series:
    """Midpoint [percent] of each cover class; missing where the class is not given or unknown."""
    codes = classes.map(lambda code: str(code).strip().upper(), na_action="ignore")
    return codes.map(MIDPOINT_PCT_BY_CLASS).astype("float64")


def class_faults(plants: pd.DataFrame) -> list[Fault]:
    """Cover classes that the scale does not have."""
    given = plants["cover_class"].notna() & plants["cover_pct"].isna()
    odd = plants.loc[given & cover_of_classes_pct(plants["cover_class"]).isna(), "cover_class"]
    expected, do = "T or 0 to 6", "write the class, or cover_pct"
    return [
        Fault("[sources.plants] cover_class", f'"{code}"', expected, do)
        for code in sorted(set(map(str, odd)))
    ]


def usable_rows(
    plants: pd.DataFrame, plant_species: pd.DataFrame, settings: CommunitySettings
) -> pd.DataFrame:
    """Rows that tell a cover, with it, the survey they belong to and the species they mean.

    Rows without a cover were not looked for and do not count.
    """
    cover = (
        plants["cover_pct"].astype("float64").fillna(cover_of_classes_pct(plants["cover_class"]))
    )
    rows = plants.assign(cover=cover, told=plants["species"])[cover.notna()]
    ground = ground_of(rows["species"])
    species = resolved_column(rows["species"], plant_species).where(ground.isna(), ground)
    return rows.assign(
        ground=ground, species=species, survey=survey_days(rows, settings.survey_days)
    )


def survey_days(rows: pd.DataFrame, most_days: int) -> pd.Series:
    """Last day of the survey that each row belongs to.

    Days of a unit that lie at most ``most_days`` apart are one survey, as long as no transect is
    read twice: a transect that is read again begins another one.
    """
    survey = pd.Series(rows["date"].to_numpy(), index=rows.index)
    for _, unit in rows.groupby("unit_id"):
        by_day = unit.groupby("date")["transect"].agg(set)
        together: list[pd.Timestamp] = []
        for day, transects in by_day.items():
            seen = set().union(*(by_day[earlier] for earlier in together))
            near = together and (day - together[-1]).days <= most_days
            together = [*together, day] if near and not seen & transects else [day]
            survey[unit.index[unit["date"].isin(together)]] = day
    return survey


def read_surveys(
    plants: pd.DataFrame, plant_species: pd.DataFrame, settings: CommunitySettings
) -> Surveys:
    """The surveys of all units. A species that a frame does not name is absent from it."""
    rows = usable_rows(plants, plant_species, settings)
    frames = rows.groupby(TRANSECT)["frame"]
    read = frames.nunique().rename("frames").reset_index()
    parts = frames.nunique(dropna=False).rename("parts")
    there = rows[rows["cover"] > 0]
    covers = there.groupby([*TRANSECT, "species"], as_index=False).agg(
        cover=("cover", "sum"),
        frames_with=("frame", "nunique"),
        ground=("ground", "first"),
        told=("told", lambda names: ", ".join(sorted(set(map(str, names))))),
    )
    covers = covers.join(parts, on=TRANSECT)
    covers["cover"] /= covers["parts"]
    known = {c: species_value(covers["species"], plant_species, c) for c in SPECIES_COLUMNS}
    covers = covers.assign(**{name: cells.astype(object) for name, cells in known.items()})
    return Surveys(read, covers.drop(columns="parts"))


def on_transects(covers: pd.DataFrame, transects: pd.Index) -> np.ndarray:
    """Cover [percent] of some rows together on each transect, 0 where none of them stands."""
    return covers.groupby("transect")["cover"].sum().reindex(transects, fill_value=0.0).to_numpy()


def mean_interval_pct(values: np.ndarray, t: float) -> tuple[float, float]:
    """Ends of the interval of a mean: mean ± t · s ÷ √n; NaN with one value.

    ``t`` is Student's multiplier for one degree of freedom less than there are values.
    """
    if len(values) < 2:
        return np.nan, np.nan
    half = t * float(values.std(ddof=1)) / np.sqrt(len(values))
    return float(values.mean() - half), float(values.mean() + half)
