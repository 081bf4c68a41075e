"""Did the fire do it? Change of burned units against the change of units that were not burned.

What happened to the weather, the season and the sensor happened to the reference units too; what
is left is the burn, plus whatever made single units differ. How much that is, the unburned units
tell by their own spread: the unit is the replicate, not the pixel.
"""

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.greenness.change_layers import BURN_EFFECTS, GREENNESS
from pipeline.greenness.columns import joined_codes
from pipeline.greenness.comparisons import season_gap_days
from pipeline.greenness.disturbances import (
    burn_cautions,
    cloud_caution,
    is_composite,
    with_disturbances,
)
from pipeline.greenness.effect.burn_effect import FIGURES, UNJUDGED, Case, Row, answers
from pipeline.greenness.effect.comparison_ground import Ground, Panel, comparison_ground, panel_of
from pipeline.greenness.effect.dose import LEAST_BURNED_PCT, burned_doses
from pipeline.greenness.settings import GreennessSettings


def compare_greenness(
    units: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    zone_changes: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    burned_shares: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> gpd.GeoDataFrame:
    """Layer ``greenness``: change of each unit of each comparison, and what it means."""
    both = chosen_comparisons.merge(zone_changes, on=["comparison", "unit_id"])
    parts = []
    for _, named in both.groupby("comparison"):
        rows = with_disturbances(named, zone_scenes, treatment_log)
        rows = rows.join(burned_doses(rows, units, burned_shares, treatment_log, burned_areas))
        little = rows["reason"].isna() & (rows["burned_pct"] < LEAST_BURNED_PCT)
        rows = rows.assign(reason=rows["reason"].mask(little, "little_burned"))
        ground = comparison_ground(
            rows, units, chosen_comparisons, zone_scenes, treatment_log, settings
        )
        parts.append(_judged_comparison(rows, ground, treatment_log, settings))
    columns = GREENNESS.column_names
    if not parts:
        empty = chosen_comparisons.iloc[:0].reindex(columns=columns)
        return gpd.GeoDataFrame(empty, geometry=gpd.GeoSeries([], crs=units.crs), crs=units.crs)
    rows = pd.concat(parts, ignore_index=True)
    shapes = units.set_index("unit_id").geometry.loc[rows["unit_id"]].to_numpy()
    return gpd.GeoDataFrame(rows[columns], geometry=shapes, crs=units.crs)


def pool_burns(
    units: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    zone_changes: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    greenness: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Table ``burn_effects``: effect of each comparison's burn, all of its burned units together.

    What is common to them stands out better from several than from one; that they answered alike
    is not said.
    """
    more = zone_changes[["comparison", "unit_id", "change_sd", "mixed"]]
    plain = pd.DataFrame(greenness.drop(columns="geometry"))
    judged = plain.merge(more, on=["comparison", "unit_id"])
    # The only reference of a comparison has none itself, and may be held against all the same.
    judged["reason"] = judged["reason"].mask(judged["reason"] == "no_reference")
    pooled = []
    for _, rows in judged.groupby("comparison"):
        ready = rows["role"].eq("burned") & ~rows["verdict"].isin(["cannot_judge", "seasonal"])
        if not ready.any():
            continue
        ground = comparison_ground(
            rows, units, chosen_comparisons, zone_scenes, treatment_log, settings
        )
        pooled.append(_pooled(rows, np.flatnonzero(ready), ground, settings))
    return pd.DataFrame(pooled, columns=BURN_EFFECTS.column_names)


def _pooled(
    rows: pd.DataFrame, burned: np.ndarray, ground: Ground, settings: GreennessSettings
) -> Row:
    """Row of all burned units of a comparison."""
    panel = panel_of(ground, burned, settings.least_references)
    together = rows.iloc[burned]
    records = together.to_dict("records")
    causes = dict.fromkeys(code for row in records for code in record_causes(row))
    floor = max(_picture_floor(row, settings) for row in records)
    doses = tuple(together["burned_pct"] / 100.0)
    (answer,) = answers(ground, [Case(panel, doses, tuple(causes), floor)], settings)
    first = records[0]
    return answer | {
        "comparison": first["comparison"],
        "before": first["before"],
        "after": first["after"],
        "unit_ids": ", ".join(together["unit_id"]),
        "units": len(together),
        "burned_pct": float(together["burned_pct"].mean()),
    }


def _judged_comparison(
    rows: pd.DataFrame, ground: Ground, treatment_log: pd.DataFrame, settings: GreennessSettings
) -> pd.DataFrame:
    """Rows of one comparison with what is said of each unit."""
    records = rows.to_dict("records")
    gap = season_gap_days(rows["before"].iloc[0], rows["after"].iloc[0])
    judged: list[Row] = []
    cases: dict[int, Case] = {}
    for number, row in enumerate(records):
        answer = UNJUDGED | {"noise_floor": _picture_floor(row, settings), "reason": row["reason"]}
        if pd.isna(row["reason"]):
            panel = panel_of(ground, np.array([number]), settings.least_references)
            if panel.references.any():
                cases[number] = _case(row, panel, settings)
            else:
                answer["reason"] = "no_reference"
        judged.append(answer)
    told = answers(ground, list(cases.values()), settings)
    for number, answer in zip(cases, told, strict=True):
        judged[number] |= answer
    for number in cases:
        if gap > settings.most_date_gap_days:
            judged[number] |= dict.fromkeys(FIGURES, np.nan)
            judged[number] |= {"verdict": "seasonal", "confounded_by": None}
    codes = _cautions(rows, judged, gap, treatment_log, settings)
    answers_of = pd.DataFrame(judged, index=rows.index).astype({"reason": object})
    together = rows.drop(columns="reason").join(answers_of)
    strips = [_strip(ground, cases[k].panel) if k in cases else None for k in range(len(rows))]
    together = together.assign(season_gap_days=gap, gaps_before=strips, caution=codes)
    dose = together["burned_pct"].fillna(100.0) / 100.0
    expected = together["after_mean"] - dose * together["change_vs_reference"]
    relative = 100.0 * together["change_vs_reference"] / expected.where(expected > 0)
    return together.assign(relative_pct=relative)


def _picture_floor(row: Row, settings: GreennessSettings) -> float:
    """NDVI that may be noise between the two pictures."""
    return settings.mixed_noise_floor if row["mixed"] else settings.noise_floor


def _case(row: Row, panel: Panel, settings: GreennessSettings) -> Case:
    """One unit to be judged; a reference stands for a unit that burned whole."""
    dose = row["burned_pct"] / 100.0 if row["role"] == "burned" else 1.0
    return Case(panel, (dose,), tuple(record_causes(row)), _picture_floor(row, settings))


def record_causes(row: Row) -> list[str]:
    """Codes of what records and pictures say against calling a change the fire's."""
    is_burned = row["role"] == "burned"
    found = {
        "burned_before": is_burned and pd.notna(row["other_burn"]),
        "share_unknown": is_burned and not row["burned_known"],
        "other_sensor": row["mixed"],
        "composite": is_composite(row),
    }
    return [code for code, holds in found.items() if holds]


def _strip(ground: Ground, panel: Panel) -> str | None:
    """Gap of a unit to its references in each earlier year, in words; None without any."""
    of_unit = panel.before[panel.burned[0]]
    gaps = of_unit - panel.before[panel.references].mean(axis=0)
    told = [
        f"{year} {gap:+.3f}".replace("-", "−")
        for year, gap in zip(panel.years, gaps[1:], strict=True)
    ]
    return "; ".join(reversed(told)) or None


def _cautions(
    rows: pd.DataFrame,
    judged: list[Row],
    gap: int,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> list[str | None]:
    """Codes of what to keep in mind of each unit, None where it cannot be judged."""
    usable, changes = rows["reason"].isna().to_numpy(), rows["change"].to_numpy(dtype=float)
    codes: list[str | None] = []
    for number, row in enumerate(rows.to_dict("records")):
        answer = judged[number]
        if answer["verdict"] == "cannot_judge":
            codes.append(None)
            continue
        cloud = cloud_caution(
            row["change"],
            np.delete(changes, number)[np.delete(usable, number)],
            settings.cloud_drop,
        )
        figures = {
            "composite": is_composite(row),
            **dict.fromkeys(burn_cautions(row, treatment_log), True),
            # A loss that the log explains is none of cloud.
            f"{cloud}": cloud == "cloud_before" or (cloud and not row["work_between"]),
            "part_usable": row["valid_pct"] < settings.sure_valid_pct,
            "season_gap": gap > settings.date_gap_days,
            "unpaired": not row["paired"],
            "mixed_sensors": row["mixed"] and row["paired"],
            "unlike_before": abs(answer["before_gap"]) > settings.similar_before,
            "carried_by_one": answer["carrying_reference"] is not None,
        }
        codes.append(joined_codes([code for code, holds in figures.items() if holds]))
    return codes
