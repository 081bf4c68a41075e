"""Sentences on greenness, made of the codes and figures of a row and the settings of the run."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import pandas as pd

from pipeline.core.units import half_up
from pipeline.greenness.columns import parted_codes, reason_words
from pipeline.greenness.settings import GreennessSettings
from pipeline.pages.words import date_words

Frames = Mapping[str, pd.DataFrame]
Row = Mapping[Any, Any]
Settings = Mapping[str, str]


def greenness_settings(settings: pd.DataFrame) -> Settings:
    """The settings of greenness that a run was made with, from its table of settings, as text."""
    used = settings[settings["section"] == "greenness"]
    defaults = {name: str(value) for name, value in GreennessSettings()}
    return defaults | dict(zip(used["setting"], used["value"], strict=True))


def with_greenness_words(frames: Frames) -> dict[str, pd.DataFrame]:
    """All layers, those of greenness with sentences in the place of their codes."""
    settings = greenness_settings(frames["settings"])
    no_index = frames["cool_season"][frames["cool_season"]["cool_index"].isna()]
    by_year = {(row["unit_id"], str(row["year"])): row for row in no_index.to_dict("records")}
    words: dict[str, dict[str, Callable[[Row], str | None]]] = {
        "zone_scenes": {"reason": lambda row: scene_reason_words(row, settings)},
        "greenness": {
            "verdict": lambda row: verdict_words(row, settings),
            "caution": lambda row: caution_words(row, settings),
        },
        "burn_effects": {"verdict": lambda row: verdict_words(row, settings)},
        "burned_shares": {
            "verdict": lambda row: share_verdict_words(row, settings),
            "caution": share_caution_words,
        },
        "within_unit": {"caution": within_caution_words},
        "cool_season": {"reason": index_reason_words},
        "cool_season_changes": {
            "verdict": lambda row: index_verdict_words(row, by_year, settings),
            "caution": index_caution_words,
        },
    }
    return {**frames, **{name: _worded(frames[name], by) for name, by in words.items()}}


def _worded(frame: pd.DataFrame, words: Mapping[str, Callable[[Row], str | None]]) -> pd.DataFrame:
    """A layer in which sentences stand in the place of the codes of some columns."""
    plain = frame.drop(columns="geometry", errors="ignore")
    rows = plain.to_dict("records")
    return plain.assign(**{name: [say(row) for row in rows] for name, say in words.items()})


def scene_reason_words(row: Row, settings: Settings) -> str | None:
    """Why the reading of a unit on a date is left out, None where it is not."""
    return None if pd.isna(row["reason"]) else reason_words(row, settings["least_full_pixels"])


WITHIN = "no more than unburned ground differs without a fire"


def verdict_words(row: Row, settings: Settings) -> str:
    """What may be said of the change of a unit in greenness."""
    verdict = row["verdict"]
    if verdict == "cannot_judge":
        return f"cannot be judged: {reason_words(row, settings['least_full_pixels'])}"
    if verdict == "seasonal":
        days = row["season_gap_days"]
        apart = f"the pictures are {days} days apart in the course of the year"
        return _of_role(row, f"{SEASONAL}: {apart}")
    words = {
        "greener": "greener than unburned ground explains",
        "less_green": "less green than unburned ground explains",
        "within": WITHIN,
        "below_noise": _below_noise(f"{row['noise_floor']:.3g}"),
        "confounded": confounded_words(row),
        "no_interval": _no_interval(settings),
    }[verdict]
    return _of_role(row, words)


SEASONAL = "seasonal difference, not a change after the burn"


CONFOUNDED = "other work of the time may have done it as well as the burn"


def confounded_words(row: Row) -> str:
    """What may have made a change as well as the burn."""
    causes = [_CONFOUNDER_WORDS.get(code, code) for code in parted_codes(row["confounded_by"])]
    return f"cannot be put down to the burn: {'; '.join(causes) or CONFOUNDED}"


_CONFOUNDER_WORDS = {
    "handled_otherwise": "too few unburned units were handled like it",
    "other_cover": "too few unburned units are of its cover",
    "burned_before": "it had burned in the year before the first picture as well",
    "start_differs": "it began off its usual place among the references, and a return to it would "
    "look the same",
    "size_differs": "hardly any unburned unit is about as large",
    "year_differs": "ground that responds somewhat more to such a year would do the same",
    "place_differs": "the references lie together and apart from it, where other rain may fall",
    "other_sensor": "the two pictures are from different sensors, or have different pixels",
    "composite": "the pictures are made of several days",
    "share_unknown": "how much of it burned is not known",
}


def _below_noise(floor: str) -> str:
    """Sentence that a change may be no more than noise of the pictures."""
    return f"no clear difference: smaller than the noise of the pictures ({floor})"


def _no_interval(settings: Settings) -> str:
    """Sentence that there are too few reference units for an interval."""
    least = settings["least_references"]
    return f"no verdict: fewer than {least} usable reference units to hold it against"


def _of_role(row: Row, words: str) -> str:
    """A verdict, marked where it is one on a reference unit."""
    return f"reference unit: {words}" if row.get("role") == "reference" else words


def caution_words(row: Row, settings: Settings) -> str | None:
    """What to keep in mind beside the change of a unit in greenness, None for nothing."""
    words = {code: partial(say, row, settings) for code, say in _CAUTION_WORDS.items()}
    return _sentence(row["caution"], words)


def _sentence(cell: str | None, words: Mapping[str, Callable[[], str]]) -> str | None:
    """The words for the codes of a cell, one after the other; None for none."""
    codes = parted_codes(cell)
    return "; ".join(words[code]() if code in words else code for code in codes) or None


def _composite_words(row: Row, _: Settings) -> str:
    """Which days the pictures of a comparison are made of."""
    spans = [
        f"{row[side]:%Y-%m-%d} to {row[f'{side}_last_day']:%Y-%m-%d}"
        for side in ("before", "after")
        if row[f"{side}_last_day"] > row[side]
    ]
    return f"made of the best pixels of {' and of '.join(spans)}: the burn must not lie among them"


def _unlike_words(row: Row, what: str) -> str:
    """How far a unit was from the references before the burn."""
    gap = row["before_gap"]
    side = "above" if gap > 0 else "below"
    return f"its {what} before was {half_up(abs(gap), 3)} {side} the references'"


_CAUTION_WORDS: dict[str, Callable[[Row, Settings], str]] = {
    "composite": _composite_words,
    "no_burn_on_record": lambda row, s: (
        "no burn of it is on record from after the first picture to before the second"
    ),
    "other_work": lambda row, s: (
        f"also on record between the pictures, and in the change: {row['other_work']}"
    ),
    "burned_before": lambda row, s: (
        f"it had burned on {row['other_burn']:%Y-%m-%d}, within a year before the first picture"
    ),
    "cloud_before": lambda row, s: (
        f"gained over {s['cloud_drop']} more than every other unit: cloud or haze on "
        f"{row['before']:%Y-%m-%d}?"
    ),
    "cloud_after": lambda row, s: (
        f"lost over {s['cloud_drop']} more than every other unit: cloud or haze on "
        f"{row['after']:%Y-%m-%d}?"
    ),
    "part_usable": lambda row, s: (
        f"only {half_up(row['valid_pct'], 0)} percent of the unit is usable on both dates"
    ),
    "season_gap": lambda row, s: (
        f"the pictures are {row['season_gap_days']} days apart in the course of the year"
    ),
    "unpaired": lambda row, s: "the pictures have different pixels, so each mean rests on its own",
    "mixed_sensors": lambda row, s: (
        "the pictures are from different sensors, or one is NDVI as delivered"
    ),
    "unlike_before": lambda row, s: (
        f"{_unlike_words(row, 'NDVI')}: a low one tends to rise, a high one to fall, without any "
        "burn"
    ),
    "carried_by_one": lambda row, s: (
        f"without {row['carrying_reference']} the references would spread less than half as much: "
        "was something done to it that is not on record?"
    ),
}


def share_verdict_words(row: Row, settings: Settings) -> str:
    """The burned share of a unit, or what is needed to tell it."""
    verdict = row["verdict"]
    if verdict == "measured":
        return f"about {half_up(row['burned_pct'], 0)} percent burned"
    if verdict in _LACKING_SIDES:
        wants = " and ".join(_wanted(row, side, settings) for side in _LACKING_SIDES[verdict])
        hide = "composites of several days are near but hide a burn; " * bool(
            row["composites_near"]
        )
        wanted = f"needs a reflectance picture, {wants}; {hide}NDVI alone does not show what burned"
        return f"cannot tell: {wanted}"
    if verdict == "no_day":
        return (
            "cannot tell: needs the day of the burn (a burn of this unit in the treatments table, "
            f"between the dates of the pictures: {row['burned_between']})"
        )
    if verdict == "too_little_usable":
        return f"cannot tell: only {half_up(row['valid_pct'], 0)} percent of it can be read"
    return f"cannot tell: {_SHARE_WORDS[verdict]}"


_LACKING_SIDES = {
    "no_picture_before": ("before",),
    "no_picture_after": ("after",),
    "no_pictures": ("before", "after"),
}


_SHARE_WORDS = {
    "different_pixels": "the pictures before and after have different pixels",
    "no_near_infrared": "needs near-infrared on both dates",
    "too_small": "too small for these pixels, or no data",
    "no_unburned_ground": "too few pixels of units that were not burned",
}


def _wanted(row: Row, side: str, settings: Settings) -> str:
    """The picture that is missing on one side of a burn, and how far the nearest is."""
    most = settings[f"picture_{side}_days"]
    days = row[f"{side}_days"]
    nearest = "there is none" if pd.isna(days) else f"the nearest is {days} days {side}"
    return f"one from at most {most} days {side} the burn ({nearest})"


def share_caution_words(row: Row) -> str | None:
    """What to keep in mind beside a burned share, None for nothing."""
    words = {
        "wide_bounds": lambda: (
            f"{half_up(row['low_pct'], 0)} to {half_up(row['high_pct'], 0)} percent, if pixels "
            "without data count as unburned or as burned"
        ),
        "other_cover": lambda: (
            "held against unburned ground of any cover: other kinds of ground change otherwise"
        ),
        "other_work": lambda: f"also on record, and in the figure: {row['other_work']}",
        "late_picture": lambda: (
            f"the picture after is {row['after_days']} days later: regrowth hides some of what "
            "burned"
        ),
        "mask_unclear": lambda: (
            f"the quality raster's rule for {row['unclear_masks']} does not say what burned ground "
            "is taken for: burned ground that it calls shadow or water may be left out"
        ),
    }
    return _sentence(row["caution"], words)


def within_caution_words(row: Row) -> str | None:
    """What to keep in mind beside burned and unburned ground of one unit, None for nothing."""
    effective = min(row["burned_effective_pixels"], row["unburned_effective_pixels"])
    words = {
        "by_pictures": lambda: (
            "burned ground is told pixel by pixel from pictures just before and after the burn"
        ),
        "few_effective": lambda: (
            f"the smaller part is worth {effective:.1f} independent pixels: the interval says "
            "little"
        ),
        "unlike_before": lambda: (
            f"the burned ground was {row['before_gap']:+.3f} from the other before: it is other "
            "ground, and may change otherwise"
        ),
        "part_usable": lambda: "a part of it has no usable pixels",
        "season_gap": lambda: (
            f"pictures of {date_words(row['before'])} and {date_words(row['after'])} are of "
            "different days of the year: green-up differs from ground to ground"
        ),
        "mixed_sensors": lambda: "pictures of different sensors or kinds",
    }
    return _sentence(row["caution"], words)


def index_reason_words(row: Row) -> str | None:
    """Why a unit has no cool-season index of a year, None where it has one."""
    if pd.isna(row["reason"]):
        return None
    if row["reason"] == "little_green_up":
        return "too little green-up to tell"
    return f"{burn_words(row)}: its pictures of this season may show the burn"


def burn_words(row: Row) -> str:
    """When a unit burned, or between which days it may have."""
    first, last = date_words(row["burned_from"]), date_words(row["burned_until"])
    return f"burned on {first}" if first == last else f"burned some day from {first} to {last}"


def index_verdict_words(
    row: Row, by_year: Mapping[tuple[str, str], Row], settings: Settings
) -> str:
    """What may be said of a change of the cool-season index.

    ``by_year`` has the rows of units and years that have no index, which tell why.
    """
    verdict = row["verdict"]
    if verdict == "cannot_judge":
        return f"cannot be judged: {_index_obstacle_words(row, by_year)}"
    floor = "" if pd.isna(row["noise_floor"]) else f"{row['noise_floor']:.3f}"
    more = "against unburned units, greens up more like a {}-season stand than before"
    words = {
        "more_cool_season": more.format("cool"),
        "more_warm_season": more.format("warm"),
        "within": WITHIN,
        "below_noise": _below_noise(floor),
        "confounded": CONFOUNDED,
        "no_interval": _no_interval(settings),
        "seasonal": f"{SEASONAL}: {_years_apart_words(row)}",
    }
    return _of_role(row, words[verdict])


def _years_apart_words(row: Row) -> str:
    """How far apart the pictures of two years are."""
    days = row["season_gap_days"]
    return f"pictures of the two years are {days} days apart in the course of the year"


def _index_obstacle_words(row: Row, by_year: Mapping[tuple[str, str], Row]) -> str:
    """Why a change of the cool-season index cannot be judged, with what spoiled the years."""
    reason = row["reason"]
    if reason == "burned_between":
        return burn_words(row)
    if reason == "no_reference":
        return "no reference unit with pictures of the same days"
    years, unit_id = parted_codes(row["years_without_index"]), row["unit_id"]
    spoiled = {year: by_year[unit_id, year] for year in years if (unit_id, year) in by_year}
    why = "; ".join(f"{year}: {index_reason_words(of_year)}" for year, of_year in spoiled.items())
    words = {
        "no_index": f"no index of {' and '.join(years)}",
        "no_year_before": "no usable early and midsummer picture of a year before the burn",
        "no_year_after": "no usable early and midsummer picture of a year after the burn",
    }[reason]
    return f"{words} ({why})" if why else words


def index_caution_words(row: Row) -> str | None:
    """What to keep in mind beside a change of the cool-season index, None for nothing."""
    words = {
        "single_years": lambda: (
            "rests on one year before and one after, and springs differ by weeks"
        ),
        "season_gap": lambda: _years_apart_words(row),
        "dormant_differs": lambda: (
            "the greenness of dormant ground is a picture in one year and the setting in the other"
        ),
        "several_burns": lambda: f"the change is that of all its burns: {row['burns']}",
        "other_work": lambda: (
            f"grazed, cut or otherwise treated in the seasons of its pictures: {row['other_work']}"
        ),
        "unlike_before": lambda: (
            f"{_unlike_words(row, 'index')} and outside their range: a high one tends to fall, a "
            "low one to rise, without any burn"
        ),
        "restless_years": lambda: (
            "in earlier years it already strayed from the references by more than this"
        ),
    }
    return _sentence(row["caution"], words)
