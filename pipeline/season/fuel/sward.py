"""What grows in spring: the share of cool-season exotics in a sward, and the green it adds."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pipeline.season.fuel.green_up import Spring
from pipeline.season.fuel.settings import FuelSettings

UNKNOWN_SHARE_PCT = 90.0
"""Share [percent] reckoned with where nothing at all tells it: the side that closes early.

*Source*: common practice, no source.
"""


PICTURE_YEARS = 3
"""Springs before the season whose pictures tell of the sward."""


COOL_GREEN = (150.0, 1000.0)
WARM_GREEN = (600.0, 1900.0)
"""Degree-days [°F] from which, and at which, a stand looks as green as in midsummer.

*Source*: judgment: bluegrass begins to grow in the middle of April (150) and warm-season natives
stand half an inch to two inches high at 600 to 700 (K-State eUpdate 446); brome is heading and
natives are ready for grazing at about 1,000 (NDSU R1061).
"""


LEAST_APART = 0.25
"""Pictures on days on which the two kinds look more alike than this tell nothing of the share."""


@dataclass(frozen=True, slots=True)
class Sward:
    """Share [percent] of a unit's spring growth that is cool-season exotics, and who tells it.

    Survey and pictures are two looks at one thing: the mean is reckoned with, ``least`` and
    ``most`` are the two. ``rests_on`` is a code of the layer ``fuel``.
    """

    likely_pct: float
    least_pct: float
    most_pct: float
    survey_pct: float
    pictures_pct: float
    rests_on: str


def ramp(values: np.ndarray, start: float, full: float) -> np.ndarray:
    """Share from 0 at ``start`` to 1 at ``full``, straight between."""
    return np.clip((values - start) / (full - start), 0.0, 1.0)


def green_load_lb_ac(
    degree_days: np.ndarray, cool_exotic_share_pct: float, settings: FuelSettings
) -> np.ndarray:
    """Dry weight [lb/ac] of green growth at sums of degree-days, in a sward of a share of exotics.

    Cool-season exotics begin to grow weeks before the natives and make more of it by June.

    *Source*: derived; see the settings for what each constant is fitted to.
    """
    share = cool_exotic_share_pct / 100.0
    exotic = ramp(degree_days, settings.green_degree_days, settings.full_degree_days)
    native = ramp(degree_days, settings.native_degree_days, settings.full_degree_days)
    exotic_lb_ac = share * settings.green_load_lb_ac * exotic
    return np.asarray(exotic_lb_ac + (1.0 - share) * settings.native_green_load_lb_ac * native)


def share_of_picture_pct(greenness: float, degree_days: float) -> float:
    """Share [percent] of cool-season plants by how green a unit is on a day of spring.

    ``greenness`` is the green-up above dormant ground by that of midsummer. A sward is taken as
    part cool-season and part warm-season, each as green as its own kind is at these degree-days;
    NaN where the two kinds look alike.
    """
    sums = np.array([degree_days])
    cool, warm = float(ramp(sums, *COOL_GREEN)[0]), float(ramp(sums, *WARM_GREEN)[0])
    if cool - warm < LEAST_APART:
        return math.nan
    return 100.0 * min(1.0, max(0.0, (greenness - warm) / (cool - warm)))


def pictures_share_pct(cool_season: pd.DataFrame, spring: Spring | None, season: int) -> float:
    """Share [percent] by the unit's own spring pictures of the last years, NaN without any.

    Springs after a burn do not count: bare black ground greens early whatever grows there.
    """
    if spring is None or cool_season.empty:
        return math.nan
    shares = []
    for row in cool_season[cool_season["reason"].isna()].itertuples(index=False):
        in_midsummer = row.midsummer - row.dormant
        if not season - PICTURE_YEARS <= row.year <= season or in_midsummer <= 0:
            continue
        last = row.early_date if pd.isna(row.early_last_date) else row.early_last_date
        middle = row.early_date + (last - row.early_date) / 2
        greenness = (row.early - row.dormant) / in_midsummer
        shares.append(share_of_picture_pct(greenness, spring.sum_on(middle)))
    told = [share for share in shares if not math.isnan(share)]
    return float(np.mean(told)) if told else math.nan


def sward_of(
    community: pd.DataFrame,
    cool_season: pd.DataFrame,
    spring: Spring | None,
    season: int,
    settings: FuelSettings,
) -> Sward:
    """Sward of one unit: newest survey and own pictures, else the setting, else the latitude.

    ``community`` and ``cool_season`` hold the rows of that unit.
    """
    surveys = community.dropna(subset=["cool_exotic_share_pct"]).sort_values("date")
    survey = float(surveys["cool_exotic_share_pct"].iloc[-1]) if len(surveys) else math.nan
    pictures = pictures_share_pct(cool_season, spring, season)
    told = [share for share in (survey, pictures) if not math.isnan(share)]
    if told:
        rests_on = {1: "survey" if math.isnan(pictures) else "pictures", 2: "survey_and_pictures"}
        likely = float(np.mean(told))
        return Sward(likely, min(told), max(told), survey, pictures, rests_on[len(told)])
    ordinary = (
        math.nan if spring is None or spring.dates is None else (spring.dates.cool_exotic_share_pct)
    )
    share, rests_on_one = UNKNOWN_SHARE_PCT, "nothing"
    if settings.cool_exotic_share_pct is not None:
        share, rests_on_one = settings.cool_exotic_share_pct, "setting"
    elif not math.isnan(ordinary):
        share, rests_on_one = ordinary, "ordinary_for_the_place"
    return Sward(share, share, share, survey, pictures, rests_on_one)
