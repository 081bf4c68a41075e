"""Figures and verdict of burned units: effect, interval, and what else may have made it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from pipeline.greenness.change_columns import LEFT_OUT
from pipeline.greenness.columns import joined_codes
from pipeline.greenness.effect.carry_over import (
    Effect,
    Readings,
    carrying_reference,
    estimate_effect,
)
from pipeline.greenness.effect.comparison_ground import Ground, Panel, readings_of
from pipeline.greenness.effect.other_causes import Places, causes_beside_fire, plain_verdicts
from pipeline.greenness.settings import GreennessSettings

Row = dict[str, Any]


AT_ONCE = 2_000_000
"""Readings that are answered at once, so that many units of one comparison fit into memory."""


@dataclass(frozen=True, slots=True)
class Case:
    """One or several burned units to be judged together.

    ``doses`` are their burned shares (0 to 1), ``causes`` codes of what their records and pictures
    say against a verdict, ``noise_floor`` the NDVI that may be noise of the pictures.
    """

    panel: Panel
    doses: tuple[float, ...]
    causes: tuple[str, ...]
    noise_floor: float


UNJUDGED: Row = {
    "change_vs_reference": np.nan,
    "plain_difference": np.nan,
    "interval_low": np.nan,
    "interval_high": np.nan,
    "p_value": np.nan,
    "carry_over": np.nan,
    "years_before": 0,
    "references": 0,
    "references_used": None,
    **dict.fromkeys(LEFT_OUT),
    "spread_units": 0,
    "before_gap": np.nan,
    "carrying_reference": None,
    "confounded_by": None,
    "verdict": "cannot_judge",
}
"""What is said of a unit that cannot be judged."""


FIGURES = (
    "change_vs_reference",
    "plain_difference",
    "interval_low",
    "interval_high",
    "p_value",
    "carry_over",
)


def answers(ground: Ground, cases: Sequence[Case], settings: GreennessSettings) -> list[Row]:
    """A row of figures and verdict for each case."""
    rows: list[Row] = [{}] * len(cases)
    shapes = [(case.panel.before.shape[1], len(case.panel.burned)) for case in cases]
    most = max(1, AT_ONCE // max(1, len(ground.unit_ids)))
    for shape in sorted(set(shapes)):
        numbers = [k for k, own in enumerate(shapes) if own == shape]
        for first in range(0, len(numbers), most):
            some = numbers[first : first + most]
            answered = _answered(ground, [cases[k] for k in some], settings)
            for k, row in zip(some, answered, strict=True):
                rows[k] = row
    return rows


def _answered(ground: Ground, cases: list[Case], settings: GreennessSettings) -> list[Row]:
    """Rows of cases with as many years and burned units."""
    panels, confidence = [case.panel for case in cases], settings.confidence_pct
    burned, unburned = readings_of(ground, panels)
    effect = estimate_effect(
        burned,
        np.array([case.doses for case in cases]),
        unburned,
        np.stack([panel.references for panel in panels]),
        np.stack([panel.alike for panel in panels]),
    )
    floor = np.maximum(np.array([case.noise_floor for case in cases]), effect.noise)
    figures = {
        "change_vs_reference": effect.mean,
        "plain_difference": effect.difference,
        "p_value": effect.p_value,
        "carry_over": effect.carry_over,
        "noise_floor": floor,
        "before_gap": _before_gap(burned, unburned, effect),
        "references": effect.references.sum(axis=-1),
        "spread_units": effect.alike.sum(axis=-1),
        "verdict": plain_verdicts(effect, confidence, floor, greater="greener", less="less_green"),
    }
    figures["interval_low"], figures["interval_high"] = effect.distribution.interval(confidence)
    carries = carrying_reference(effect, unburned)
    causes = _other_causes(ground, effect, panels, settings)
    rows = pd.DataFrame(figures).to_dict("records")
    return [
        _told(ground, case, row | _names(ground, case.panel, effect, k), causes[k], carries[k])
        if case.panel.references.sum() >= settings.least_references
        else _without_interval(row | _names(ground, case.panel, effect, k))
        for k, (case, row) in enumerate(zip(cases, rows, strict=True))
    ]


def _before_gap(burned: Readings, unburned: Readings, effect: Effect) -> np.ndarray:
    """How far the burned units were from the references on the picture before, on average."""
    start = np.where(effect.references, unburned.before[..., 0], 0.0)
    return burned.before[..., 0].mean(axis=-1) - start.sum(axis=-1) / effect.references.sum(axis=-1)


def _other_causes(
    ground: Ground, effect: Effect, panels: list[Panel], settings: GreennessSettings
) -> list[list[str]]:
    """Codes of what start, size, year and place may have done, of each panel."""
    numbers = np.stack([panel.burned for panel in panels])
    places = ground.places
    burned = Places(places.size[numbers], places.at[numbers])
    confidence, similar = settings.confidence_pct, settings.similar_before
    found = causes_beside_fire(effect, burned, places, confidence, similar)
    return [[code for code, held in found.items() if held[k]] for k in range(len(panels))]


def _names(ground: Ground, panel: Panel, effect: Effect, k: int) -> Row:
    """Which references are used, and why others are not."""
    ids = ground.unit_ids
    narrowed = np.flatnonzero(panel.references & ~effect.references[k])
    why = panel.why | dict.fromkeys(narrowed.tolist(), "unlike_start")
    return {
        "references_used": ", ".join(ids[effect.references[k]]),
        **{
            name: ", ".join(ids[n] for n in sorted(why) if why[n] == code) or None
            for name, code in LEFT_OUT.items()
        },
        "years_before": panel.before.shape[1],
    }


def _told(ground: Ground, case: Case, row: Row, causes: list[str], carries: int) -> Row:
    """A row with its verdict, and with what else may have made the change."""
    found = [*case.causes, *causes] if row["verdict"] in ("greener", "less_green") else []
    found = list(case.panel.unlike) or found
    carrying = ground.unit_ids[carries] if carries >= 0 else None
    row |= {"verdict": "confounded"} if found else {}
    return UNJUDGED | row | {"confounded_by": joined_codes(found), "carrying_reference": carrying}


def _without_interval(row: Row) -> Row:
    """A row of too few references: the plain difference, and nothing on how sure it is."""
    unknown = dict.fromkeys(("interval_low", "interval_high", "p_value", "carry_over"), np.nan)
    told = {"change_vs_reference": row["plain_difference"], "verdict": "no_interval"}
    return UNJUDGED | row | unknown | told
