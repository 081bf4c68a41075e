"""Which burns the log tells of, what pictures lie around each, and what ground was not burned."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pandas as pd

from pipeline.greenness.settings import GreennessSettings
from pipeline.log.treatment_log import burns_of, event_words, treatments_of, within

DAY = pd.Timedelta(days=1)


OTHER_COVER = "held against unburned ground of any cover: other kinds of ground change otherwise"


@dataclass(frozen=True, slots=True)
class PictureDates:
    """Dates of the pictures before and after a burn."""

    before: pd.Timestamp
    after: pd.Timestamp


def logged_burns(treatment_log: pd.DataFrame, scenes: pd.DataFrame) -> pd.DataFrame:
    """Burns that began after the first picture: unit, first day ``burned``, last day ``end``.

    Several rows of the log for a unit and a day are one burn.
    """
    burns = burns_of(treatment_log)
    seen = burns[burns["start"] > scenes["date"].min()].rename(columns={"start": "burned"})
    return seen.groupby(["unit_id", "burned"], as_index=False)["end"].max()


def undated_burns(compared: pd.DataFrame, treatment_log: pd.DataFrame) -> pd.DataFrame:
    """Burned units of comparisons without a burn in the log between the two dates."""
    own = compared[compared["role"] == "burned"]
    pairs = own[["unit_id", "before", "after"]].drop_duplicates()
    both = pairs.merge(burns_of(treatment_log), on="unit_id")
    dated = both[(both["start"] > both["before"]) & (both["end"] < both["after"])]
    marked = pairs.merge(dated[pairs.columns].drop_duplicates(), how="left", indicator=True)
    return marked.loc[marked["_merge"] == "left_only", list(pairs.columns)]


def undated_words(pairs: pd.DataFrame) -> str:
    """What is needed to tell the burned share of a unit that a comparison calls burned."""
    spans = [f"{row.before:%Y-%m-%d} and {row.after:%Y-%m-%d}" for row in pairs.itertuples()]
    return (
        "cannot tell: needs the day of the burn (a burn of this unit in the treatments table, "
        f"between {', or '.join(spans)})"
    )


def pictures_around(
    start: pd.Timestamp, end: pd.Timestamp, stacks: pd.DataFrame, settings: GreennessSettings
) -> PictureDates | str:
    """Nearest reflectance pictures before and after a burn, or why there are none.

    A picture of the day of the burn shows neither side of it for certain. Composites are left
    out: made of the greenest days, they hide a burn.
    """
    dates = stacks.loc[stacks["span_days"] == 1, "date"]
    earlier, later = dates[dates < start].max(), dates[dates > end].min()
    days = {"before": (start - earlier).days, "after": (later - end).days}
    most = {"before": settings.picture_before_days, "after": settings.picture_after_days}
    missing = [
        f"one from at most {most[side]} days {side} the burn "
        + ("(there is none)" if pd.isna(gap) else f"(the nearest is {gap:.0f} days {side})")
        for side, gap in days.items()
        if not gap <= most[side]
    ]
    if missing:
        return (
            f"cannot tell: needs a reflectance picture, {' and '.join(missing)}; "
            f"{_composites(start, end, stacks, settings)}NDVI alone does not show what burned"
        )
    return PictureDates(earlier, later)


def _composites(
    start: pd.Timestamp, end: pd.Timestamp, stacks: pd.DataFrame, settings: GreennessSettings
) -> str:
    """That there are composites near a burn, nothing where there are none."""
    own = stacks[stacks["span_days"] > 1]
    last = own["date"] + pd.to_timedelta(own["span_days"] - 1, unit="D")
    near = (last >= start - settings.picture_before_days * DAY) & (
        own["date"] <= end + settings.picture_after_days * DAY
    )
    return "composites of several days are near but hide a burn; " if near.any() else ""


def regrowth_caution(
    end: pd.Timestamp, dates: PictureDates, settings: GreennessSettings
) -> str | None:
    """That a burn was seen late, None where it was not."""
    days = (dates.after - end).days
    if days <= settings.fresh_picture_days:
        return None
    return f"the picture after is {days} days later: regrowth hides some of what burned"


@dataclass(frozen=True, slots=True)
class LeftAlone:
    """What the log and the comparisons tell of the time between two pictures."""

    events: pd.DataFrame
    undated: frozenset[str]

    def others(self, unit_id: str, burned: pd.Timestamp) -> str | None:
        """What else was done to a burned unit, None for nothing."""
        own = self.events[self.events["unit_id"] == unit_id]
        return event_words(own[(own["kind"] != "burn") | (own["start"] != burned)])

    def units(self, unit_ids: Sequence[str]) -> list[str]:
        """Those of the units with nothing on record."""
        busy = self.undated | set(self.events["unit_id"])
        return [unit for unit in unit_ids if unit not in busy]


def left_alone(
    treatment_log: pd.DataFrame, undated: pd.DataFrame, dates: PictureDates,
    settings: GreennessSettings,
) -> LeftAlone:  # fmt: skip
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


def unburned_units(
    burn: pd.Series, units: pd.DataFrame, compared: pd.DataFrame, alone: LeftAlone
) -> Iterator[tuple[list[str], str | None]]:
    """Groups of units that may stand for unburned ground, the best first, each with a caution.

    ``burn`` has the ``unit_id``, the first day ``burned`` and the last day ``end``.
    """
    own = compared[
        (compared["unit_id"] == burn["unit_id"])
        & (compared["role"] == "burned")
        & (compared["before"] < burn["burned"])
        & (compared["after"] > burn["end"])
    ]
    references = compared[(compared["role"] == "reference")
                          & compared["comparison"].isin(own["comparison"])]  # fmt: skip
    yield alone.units(sorted(set(references["unit_id"]))), None
    cover = units.loc[units["unit_id"] == burn["unit_id"], "cover"].iloc[0]
    yield alone.units(list(units.loc[units["cover"] == cover, "unit_id"])), None
    yield alone.units(list(units["unit_id"])), OTHER_COVER


def mask_caution(tiles: pd.DataFrame, presets: pd.DataFrame) -> str | None:
    """That a quality raster may have left out burned ground, where nobody can know, else None."""
    known = presets.loc[presets["taken_for_burned"].astype("boolean").fillna(value=False), "preset"]
    unknown = tiles["mask_path"].notna() & ~tiles["mask_preset"].isin(known)
    if not unknown.any():
        return None
    names = ", ".join(dict.fromkeys(tiles.loc[unknown, "name"]))
    return (
        f"the quality raster's rule for {names} does not say what burned ground is taken for: "
        "burned ground that it calls shadow or water may be left out"
    )
