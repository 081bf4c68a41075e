"""Findings on comparisons: references that are missing or unlike, and what chance would do."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.greenness.columns import parted_codes, reason_words
from pipeline.greenness.effect.like_handled import cover_codes, handling_codes, unlike_reasons
from pipeline.greenness.scene_findings import note, warning
from pipeline.greenness.settings import GreennessSettings
from pipeline.log.treatment_log import YEAR, burns_of, event_words, treatments_of, within

GOOD_REFERENCES = 5
"""References from which an interval is narrow enough to be of use; common practice, no source."""


UNLIKE = {
    "references_handled_otherwise": "grazed, cut, sprayed or sown otherwise",
    "references_other_cover": "of another cover",
}
"""Columns that name references which are not like a burned unit, and what that says."""


ON_PICTURE = (
    "burn_on_day_before",
    "burn_on_day_after",
    "burn_in_composite_before",
    "burn_in_composite_after",
)
"""Reasons of a burn that a picture cannot be told from."""


def comparison_findings(
    greenness: gpd.GeoDataFrame,
    units: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> Iterator[Finding]:
    """What a person should look at before trusting the verdicts of each comparison."""
    for name, rows in greenness.groupby("comparison"):
        burned = rows[rows["role"] == "burned"]
        yield from _of_references(str(name), rows, settings)
        yield from _of_unlike(str(name), burned, treatment_log)
        yield from _of_like_others(str(name), rows, units, treatment_log)
        yield from _of_burn_days(str(name), burned, settings)
        yield from _of_carrying(str(name), burned)
        yield from _of_chance(str(name), int(burned["interval_low"].notna().sum()), settings)


def _of_references(name: str, rows: pd.DataFrame, settings: GreennessSettings) -> Iterator[Finding]:
    """Too few usable references of a comparison, and which ones cannot be used and why."""
    references = rows[rows["role"] == "reference"]
    good = references["reason"].isna() & ~(references["valid_pct"] < settings.sure_valid_pct)
    count = int(good.sum())
    if count < GOOD_REFERENCES:
        message = (
            f"{count} usable reference unit{'' if count == 1 else 's'}; "
            f"{settings.least_references} are needed for an interval, {GOOD_REFERENCES} or more "
            "make it useful"
        )
        yield warning("few_references", message, "comparisons", subject=name)
    left_out = references[~good]
    if len(left_out):
        little = f"less than {settings.sure_valid_pct:g} percent usable on both dates"
        least = settings.least_full_pixels
        words = [
            f"{r['unit_id']} ({reason_words(r, least) if r['reason'] else little})"
            for r in left_out.to_dict("records")
        ]
        message = f"not used as references: {'; '.join(words)}"
        yield warning("references_left_out", message, "comparisons", subject=name)


def _of_unlike(name: str, burned: pd.DataFrame, treatment_log: pd.DataFrame) -> Iterator[Finding]:
    """References that were handled otherwise than the burned units, or are of another cover."""
    events = treatments_of(treatment_log)
    for row in burned.dropna(subset=list(UNLIKE), how="all").to_dict("records"):
        works = within(events[events["kind"] != "burn"], row["before"] - YEAR, row["after"])
        of_unit = event_words(works[works["unit_id"] == row["unit_id"]]) or "nothing on record"
        told = [f"{words}: {row[column]}" for column, words in UNLIKE.items() if row[column]]
        end = (
            "too few others are left, so a change cannot be put down to the burn"
            if _lacks_alike(row["confounded_by"])
            else "they are left out of its figures"
        )
        message = (
            f"references not like {row['unit_id']} ({of_unit} but for the burn, from a year before "
            f"the first picture to the second): {'; '.join(told)}; {end}"
        )
        yield warning("references_unlike", message, "comparisons", subject=name)


def _lacks_alike(confounded_by: str | None) -> bool:
    """Whether too few references are like a unit in handling or cover."""
    return not {"handled_otherwise", "other_cover"}.isdisjoint(parted_codes(confounded_by))


def _of_like_others(
    name: str, rows: pd.DataFrame, units: gpd.GeoDataFrame, treatment_log: pd.DataFrame
) -> Iterator[Finding]:
    """Unburned units handled like a burned one that its comparison could name but does not."""
    burned = rows[rows["role"] == "burned"]
    short = burned["confounded_by"].map(_lacks_alike).astype(bool)
    before, after = rows["before"].iloc[0], rows["after"].iloc[0]
    burns = within(burns_of(treatment_log), before - YEAR, after)
    handling = handling_codes(units["unit_id"], before, after, treatment_log)
    cover = cover_codes(units["cover"])
    taken = units["unit_id"].isin({*rows["unit_id"], *burns["unit_id"]}).to_numpy()
    for unit in burned.loc[short, "unit_id"]:
        own = (units["unit_id"] == unit).to_numpy().nonzero()[0]
        like = pd.isna(unlike_reasons(own, handling, cover)) & ~taken
        if like.any():
            others = listed(units.loc[like, "unit_id"])
            message = f"handled like {unit} and not burned, but not named as references: {others}"
            yield note("alike_not_named", message, "comparisons", subject=name)


def _of_burn_days(
    name: str, burned: pd.DataFrame, settings: GreennessSettings
) -> Iterator[Finding]:
    """Burned units whose burn is on the day of a picture, or among the days of a composite."""
    hidden = burned[burned["reason"].isin(ON_PICTURE)]
    for row in hidden.to_dict("records"):
        words = reason_words(row, settings.least_full_pixels)
        message = f"{row['unit_id']} cannot be judged: {words}; take another picture"
        yield warning("burn_on_picture", message, "comparisons", subject=name)


def _of_carrying(name: str, burned: pd.DataFrame) -> Iterator[Finding]:
    """References without which the others would differ much less."""
    for reference, rows in burned.dropna(subset="carrying_reference").groupby("carrying_reference"):
        message = (
            f"without {reference} the references of {listed(rows['unit_id'])} would spread less "
            "than half as much: was it grazed, cut or sprayed, and not logged? It is in the figures"
        )
        yield note("carrying_reference", message, "comparisons", subject=name)


def _of_chance(name: str, count: int, settings: GreennessSettings) -> Iterator[Finding]:
    """How many of the burned units that were judged would stand out by chance alone."""
    if count > 1:
        chance = half_up(count * (1.0 - settings.confidence_pct / 100.0), 1)
        message = (
            f"{count} burned units were judged, each at {settings.confidence_pct:g} percent: about "
            f"{chance} would stand out by chance alone"
        )
        yield note("chance_alone", message, "comparisons", subject=name)
