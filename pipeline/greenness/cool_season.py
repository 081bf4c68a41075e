"""Cool-season or warm-season stand? Green-up in spring against green-up in midsummer.

Brome and bluegrass are green in April and May, when native warm-season grasses are still brown.
"""

import numpy as np
import pandas as pd

from pipeline.greenness.cool_season_layers import COOL_SEASON
from pipeline.greenness.logged_burns import undated_burns
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import of_one_kind
from pipeline.log.treatment_log import burns_of

DORMANT_FIRST_DAY = 60
"""First day of the year of the dormant window."""


LIMITS = (
    "Native cool-season grasses, sedges and early forbs look the same; grazing, mowing, hail and "
    "drought raise the index too; springs differ by weeks. Not a share of brome."
)


def _quotient(part: np.ndarray, whole: np.ndarray, told: np.ndarray) -> np.ndarray:
    """Quotient where it is to be told, NaN elsewhere."""
    part, whole, told = np.broadcast_arrays(part, whole, told)
    return np.divide(part, whole, out=np.full(part.shape, np.nan), where=told)


def cool_season_index(
    early: np.ndarray, midsummer: np.ndarray, dormant: np.ndarray, least_green_up: float = 0.0
) -> np.ndarray:
    """(E − M) / (E + M) of the green-up above dormant ground in spring and midsummer, −1 to 1.

    Above 0 is like a cool-season stand. NaN where there is too little green-up to tell. Negative
    green-up counts as none.

    *Source*: form of the two-date phenometric indices, as in D. G. Dye et al., Remote Sensing 8
    (2016) 889, with the sign turned.
    """
    e, m = np.maximum(early - dormant, 0.0), np.maximum(midsummer - dormant, 0.0)
    total = e + m
    return _quotient(e - m, total, (total > 0) & (total >= least_green_up))


def positions_between(values: np.ndarray, warm: np.ndarray, cool: np.ndarray) -> np.ndarray:
    """Position of units between two known ones, 0 warm and 1 cool, by least squares over dates.

    Dates are on the last axis. Cut at −0.25 and 1.25; NaN where the known ones do not differ.
    """
    apart = cool - warm
    length = np.asarray((apart**2).sum(axis=-1))
    position = _quotient(((values - warm) * apart).sum(axis=-1), length, length > 0)
    return np.clip(position, -0.25, 1.25)


def shoulder_index(
    early: np.ndarray,
    midsummer: np.ndarray,
    late: np.ndarray,
    dormant: np.ndarray,
    least_green_up: float,
) -> np.ndarray:
    """Green-up of spring or fall, the greater, by that of midsummer; NaN with little in midsummer.

    Cool-season grass is green in both shoulders of the summer. NaN without a late picture.
    """
    green_up = np.asarray(midsummer - dormant)
    shoulder = np.maximum(early, late) - dormant
    return _quotient(np.asarray(shoulder), green_up, green_up >= least_green_up)


def early_to_midsummer_ratio(early: np.ndarray, midsummer: np.ndarray) -> np.ndarray:
    """Early greenness by midsummer greenness, NaN where midsummer has none."""
    return _quotient(np.asarray(early), np.asarray(midsummer), np.asarray(midsummer) > 0)


def burns_between(
    spans: pd.DataFrame, comparisons: pd.DataFrame, burns: pd.DataFrame
) -> pd.DataFrame:
    """First and last day that a burn of a unit in each span may have been, empty for none.

    ``spans`` have a ``unit_id`` each and count the days after ``after`` and until ``until``. By the
    log both days are the same, the last burn's. Where the log has no burn between the pictures of
    a comparison that calls the unit burned, the burn may lie anywhere between them. Columns
    ``burned_from`` and ``burned_until``, with the index of ``spans``.
    """
    numbered = spans[["unit_id", "after", "until"]].rename_axis("span").reset_index()
    logged = numbered.merge(burns, on="unit_id")
    logged = logged[(logged["start"] <= logged["until"]) & (logged["end"] > logged["after"])]
    day = logged.groupby("span")["start"].max()
    pairs = undated_burns(comparisons, burns).rename(columns={"before": "from", "after": "to"})
    meant = numbered.merge(pairs, on="unit_id")
    meant = meant[(meant["from"] < meant["until"]) & (meant["to"] > meant["after"])]
    first = meant.groupby("span")[["from", "to"]].first()
    known = {"burned_from": day, "burned_until": day}
    possible = {"burned_from": first["from"], "burned_until": first["to"]}
    return pd.DataFrame(
        {
            name: known[name].reindex(spans.index).fillna(possible[name].reindex(spans.index))
            for name in known
        }
    )


def rate_cool_season(
    zone_scenes: pd.DataFrame,
    chosen_comparisons: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Table ``cool_season``: index of each unit and year with an early and a midsummer scene."""
    rows = _window_means(of_one_kind(zone_scenes[zone_scenes["reason"].isna()]), settings)
    dormant_from = np.where(rows["dormant"].isna(), "setting", "scene")
    dormant = rows["dormant"].fillna(settings.dormant_greenness)
    rows = rows.assign(
        dormant_from=dormant_from, dormant=dormant, early_last_date=rows["early_end"]
    )
    rows = rows.join(_figures(rows, chosen_comparisons, burns_of(treatment_log), settings))
    rows = rows.assign(position=_positions(rows, settings), limits=LIMITS)
    return rows[COOL_SEASON.column_names]


WINDOWS = ("dormant", "early", "midsummer", "late")


def _window_means(scenes: pd.DataFrame, settings: GreennessSettings) -> pd.DataFrame:
    """Mean, first and last date of each window of each unit and year with early and midsummer."""
    day, year = scenes["date"].dt.day_of_year, scenes["date"].dt.year.rename("year")
    spans = {
        "dormant": (DORMANT_FIRST_DAY, settings.dormant_last_day),
        "early": (settings.early_first_day, settings.early_last_day),
        "midsummer": (settings.midsummer_first_day, settings.midsummer_last_day),
        "late": (settings.late_first_day, settings.late_last_day),
    }
    means = pd.DataFrame(index=pd.MultiIndex.from_arrays([[], []], names=["unit_id", "year"]))
    for name in WINDOWS:
        in_window = scenes[day.between(*spans[name])]
        grouped = in_window.groupby([in_window["unit_id"], year[in_window.index]])
        window = {
            name: grouped["mean"].mean(),
            f"{name}_date": grouped["date"].min(),
            f"{name}_end": grouped["date"].max(),
            f"{name}_days": grouped["date"].agg(_joined_days),
        }
        means = means.join(pd.DataFrame(window), how="outer")
    rows = means.dropna(subset=["early", "midsummer"]).reset_index()
    # Late pictures are in no index: the others are what units must share to be compared.
    shared = WINDOWS[:3]
    days = rows[[f"{name}_days" for name in shared]].astype(object).fillna("none")
    pictures = [
        "; ".join(f"{name} {cell}" for name, cell in zip(shared, row, strict=True))
        for row in days.itertuples(index=False)
    ]
    return rows.assign(pictures=pictures)


def _joined_days(days: pd.Series) -> str:
    """Days as one text, in their order."""
    return " ".join(f"{day:%Y-%m-%d}" for day in sorted(days))


def _figures(
    rows: pd.DataFrame, comparisons: pd.DataFrame, burns: pd.DataFrame, settings: GreennessSettings
) -> pd.DataFrame:
    """Index, ratio and shoulder index of units and years, and the codes of why there is none.

    A burn since the midsummer window of the year before spoils the year. One that is later than
    the midsummer pictures spoils the late picture alone.
    """
    early, midsummer, late, dormant = (
        rows[name] for name in ("early", "midsummer", "late", "dormant")
    )
    least, ids = settings.least_green_up, rows["unit_id"]
    summer = pd.Timedelta(days=settings.midsummer_last_day - 1)
    since = pd.to_datetime((rows["year"] - 1).astype(str) + "-01-01") + summer
    spring = pd.DataFrame({"unit_id": ids, "after": since, "until": rows["midsummer_end"]})
    fall = pd.DataFrame({"unit_id": ids, "after": rows["midsummer_end"], "until": rows["late_end"]})
    in_spring = burns_between(spring, comparisons, burns)
    in_fall = burns_between(fall, comparisons, burns)
    spoiled, spoiled_late = in_spring["burned_from"].notna(), in_fall["burned_from"].notna()
    index = pd.Series(cool_season_index(early, midsummer, dormant, least), rows.index)
    shoulder = pd.Series(shoulder_index(early, midsummer, late, dormant, least), rows.index)
    reasons = {"burned": spoiled, "little_green_up": index.isna()}
    late_reasons = {
        "burned": spoiled,
        "no_late_picture": rows["late"].isna(),
        "burned_late": spoiled_late,
        "little_midsummer": shoulder.isna(),
    }
    ratio = pd.Series(early_to_midsummer_ratio(early, midsummer), rows.index)
    return in_spring.fillna(in_fall).assign(
        cool_index=index.mask(spoiled),
        early_to_midsummer=ratio.mask(spoiled),
        shoulder_index=shoulder.mask(spoiled | spoiled_late),
        reason=_first_code(reasons, rows.index),
        shoulder_reason=_first_code(late_reasons, rows.index),
    )


def _first_code(held: dict[str, pd.Series], index: pd.Index) -> pd.Series:
    """The first code that holds in each row, None for none."""
    codes = pd.Series(None, index=index, dtype=object)
    for code in reversed(held):
        codes[held[code]] = code
    return codes


def _positions(rows: pd.DataFrame, settings: GreennessSettings) -> np.ndarray:
    """Position of each unit and year between the two units the user knows, NaN without them."""
    both = ["early", "midsummer"]
    ready = rows.loc[rows["reason"].isna(), ["unit_id", "year", "pictures", *both]]
    known = [
        rows[["year", "pictures"]].merge(
            ready[ready["unit_id"] == unit], on=["year", "pictures"], how="left"
        )
        for unit in (settings.warm_unit, settings.cool_unit)
    ]
    warm, cool = (of_unit[both].to_numpy(float) for of_unit in known)
    position = positions_between(rows[both].to_numpy(float), warm, cool)
    return np.where(rows["reason"].isna(), position, np.nan)
