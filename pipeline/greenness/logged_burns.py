"""Which burns the log tells of, what pictures lie around each, and what ground was not burned."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pandas as pd

from pipeline.greenness.settings import GreennessSettings
from pipeline.log.treatment_log import burns_of, event_words, treatments_of, within

DAY = pd.Timedelta(days=1)


@dataclass(frozen=True, slots=True)
class PictureDates:
    """Dates of the pictures before and after a burn."""

    before: pd.Timestamp
    after: pd.Timestamp


@dataclass(frozen=True, slots=True)
class NearestPictures:
    """The reflectance pictures nearest to a burn, and how many days before and after it they are.

    ``lacking`` is the code of what is missing, None where both sides have a picture near enough.
    """

    before: pd.Timestamp
    after: pd.Timestamp
    before_days: float
    after_days: float
    composites_near: bool
    lacking: str | None

    @property
    def dates(self) -> PictureDates:
        """Dates of both."""
        return PictureDates(self.before, self.after)


def logged_burns(treatment_log: pd.DataFrame, scenes: pd.DataFrame) -> pd.DataFrame:
    """Burns that began after the first picture: unit, first day ``burned``, last day ``end``.

    Several rows of the log for a unit and a day are one burn.
    """
    burns = burns_of(treatment_log)
    seen = burns[burns["start"] > scenes["date"].min()].rename(columns={"start": "burned"})
    return seen.groupby(["unit_id", "burned"], as_index=False)["end"].max()


def undated_burns(chosen_comparisons: pd.DataFrame, treatment_log: pd.DataFrame) -> pd.DataFrame:
    """Burned units of comparisons without a burn in the log between the two dates."""
    burned = chosen_comparisons[chosen_comparisons["role"] == "burned"]
    pairs = burned[["unit_id", "before", "after"]].drop_duplicates()
    both = pairs.merge(burns_of(treatment_log), on="unit_id")
    dated = both[(both["start"] > both["before"]) & (both["end"] < both["after"])]
    marked = pairs.merge(dated[pairs.columns].drop_duplicates(), how="left", indicator=True)
    return marked.loc[marked["_merge"] == "left_only", list(pairs.columns)]


def spans_of(pairs: pd.DataFrame) -> str:
    """Dates between which a unit burned on some day, by the comparisons that say so."""
    spans = [f"{row.before:%Y-%m-%d} to {row.after:%Y-%m-%d}" for row in pairs.itertuples()]
    return "; ".join(spans)


def pictures_around(
    start: pd.Timestamp, end: pd.Timestamp, stacks: pd.DataFrame, settings: GreennessSettings
) -> NearestPictures:
    """Nearest reflectance pictures before and after a burn, and what is missing of them.

    A picture of the day of the burn shows neither side of it for certain. Composites are left
    out: made of the greenest days, they hide a burn.
    """
    dates = stacks.loc[stacks["span_days"] == 1, "date"]
    before, after = dates[dates < start].max(), dates[dates > end].min()
    before_days, after_days = (start - before).days, (after - end).days
    has = before_days <= settings.picture_before_days, after_days <= settings.picture_after_days
    lacking = {
        (False, False): "no_pictures",
        (False, True): "no_picture_before",
        (True, False): "no_picture_after",
    }
    composites_near = _has_composites(start, end, stacks, settings)
    return NearestPictures(
        before, after, before_days, after_days, composites_near, lacking.get(has)
    )


def _has_composites(
    start: pd.Timestamp, end: pd.Timestamp, stacks: pd.DataFrame, settings: GreennessSettings
) -> bool:
    """Whether there are composites of several days near a burn."""
    composites = stacks[stacks["span_days"] > 1]
    last = composites["date"] + pd.to_timedelta(composites["span_days"] - 1, unit="D")
    near = (last >= start - settings.picture_before_days * DAY) & (
        composites["date"] <= end + settings.picture_after_days * DAY
    )
    return bool(near.any())


@dataclass(frozen=True, slots=True)
class LeftAlone:
    """What the log and the comparisons tell of the time between two pictures."""

    events: pd.DataFrame
    undated: frozenset[str]

    def other_work(self, unit_id: str, burned: pd.Timestamp) -> str | None:
        """What else was done to a burned unit, None for nothing."""
        unit_events = self.events[self.events["unit_id"] == unit_id]
        is_this_burn = (unit_events["kind"] == "burn") & (unit_events["start"] == burned)
        return event_words(unit_events[~is_this_burn])

    def units(self, unit_ids: Sequence[str]) -> list[str]:
        """Those of the units with nothing on record."""
        busy = self.undated | set(self.events["unit_id"])
        return [unit for unit in unit_ids if unit not in busy]


def left_alone(
    treatment_log: pd.DataFrame,
    undated: pd.DataFrame,
    dates: PictureDates,
    settings: GreennessSettings,
) -> LeftAlone:
    """What happened from the day of the picture before to that of the picture after.

    Ground burned not long before the first picture is not unburned ground either, nor is a unit
    that a comparison calls burned on a day nobody knows.
    """
    events = treatments_of(treatment_log)
    near = within(events, dates.before - settings.picture_after_days * DAY, dates.after)
    between = near["end"] >= dates.before
    overlap = (undated["before"] < dates.after) & (undated["after"] > dates.before)
    return LeftAlone(
        near[between | (near["kind"] == "burn")], frozenset(undated.loc[overlap, "unit_id"])
    )


@dataclass(frozen=True, slots=True)
class UnburnedUnits:
    """Units that may stand for unburned ground; ``other_cover`` marks ground of any kind."""

    unit_ids: tuple[str, ...]
    other_cover: bool = False


def unburned_units(
    burn: pd.Series, units: pd.DataFrame, chosen_comparisons: pd.DataFrame, alone: LeftAlone
) -> Iterator[UnburnedUnits]:
    """Groups of units that may stand for unburned ground, the best first.

    The references of the burn's comparison, then units of the same cover, then any: other kinds of
    ground change otherwise. ``burn`` has the ``unit_id``, the first day ``burned`` and the last
    day ``end``.
    """
    meant = chosen_comparisons[
        (chosen_comparisons["unit_id"] == burn["unit_id"])
        & (chosen_comparisons["role"] == "burned")
        & (chosen_comparisons["before"] < burn["burned"])
        & (chosen_comparisons["after"] > burn["end"])
    ]
    references = chosen_comparisons[chosen_comparisons["role"] == "reference"]
    references = references[references["comparison"].isin(meant["comparison"])]
    yield UnburnedUnits(tuple(alone.units(sorted(set(references["unit_id"])))))
    cover = units.loc[units["unit_id"] == burn["unit_id"], "cover"].iloc[0]
    yield UnburnedUnits(tuple(alone.units(list(units.loc[units["cover"] == cover, "unit_id"]))))
    yield UnburnedUnits(tuple(alone.units(list(units["unit_id"]))), other_cover=True)


def unclear_masks(scenes: pd.DataFrame, presets: pd.DataFrame) -> str | None:
    """Scenes whose quality raster may have left out burned ground, None for none.

    Nobody can know where its rule does not say what burned ground is taken for.
    """
    known = presets.loc[presets["taken_for_burned"].astype("boolean").fillna(value=False), "preset"]
    unknown = scenes["mask_path"].notna() & ~scenes["mask_preset"].isin(known)
    return ", ".join(dict.fromkeys(scenes.loc[unknown, "name"])) or None
