"""Which pixels the quality raster of a scene lets through."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from pipeline.core.errors import Fault, SourceError


@dataclass(frozen=True, slots=True)
class MaskRule:
    """What to drop: pixels with any of these bits set, or of these values; or all but some values.

    Bits are counted from 0, the lowest.
    """

    drop_bits: Sequence[int] = ()
    drop_values: Sequence[int] = ()
    keep_values: Sequence[int] = ()


def kept(quality: np.ndarray, rule: MaskRule) -> np.ndarray:
    """Whether each pixel of a quality raster may be used."""
    values = np.asarray(quality).astype(np.int64)
    bits = sum(1 << bit for bit in rule.drop_bits)
    good = (values & bits) == 0
    if len(rule.drop_values):
        good &= ~np.isin(values, list(rule.drop_values))
    if len(rule.keep_values):
        good &= np.isin(values, list(rule.keep_values))
    return good


def mask_rule(
    scene: Mapping[str, Any], presets: pd.DataFrame, *, for_burned: bool = False
) -> MaskRule:
    """What a scene's quality raster drops. Raises SourceError for an unknown preset.

    Classes that burned ground is often taken for (char is dark, as shadow is) drop a pixel,
    except ``for_burned``.

    *Source*: M. K. Vanderhoof et al., Fire 4 (2021) 52 (burned ground and water are confused).
    """
    name = scene["mask_preset"]
    if name is None:
        return MaskRule(_numbers(scene["drop_bits"]), (), _numbers(scene["keep_values"]))
    rows = presets[presets["preset"] == name]
    if rows.empty:
        known = ", ".join(sorted(set(presets["preset"]))) or "none: [sources.mask_presets] is empty"
        where = f"scenes {scene['scene']}: {scene['name']}"
        expected = "a preset of the table [sources.mask_presets]"
        raise SourceError(Fault(where, f'mask preset "{name}"', expected, f"known are {known}"))
    taken = rows["taken_for_burned"].astype("boolean").fillna(value=False)
    applies = ~taken | ((rows["rule"] == "keep_value") == for_burned)
    by_rule = {
        rule: tuple(rows.loc[applies & (rows["rule"] == rule), "number"].astype(int))
        for rule in ("drop_bit", "drop_value", "keep_value")
    }
    return MaskRule(by_rule["drop_bit"], by_rule["drop_value"], by_rule["keep_value"])


def _numbers(text: str | None) -> tuple[int, ...]:
    """Numbers of a text in which they stand with commas between; none for an empty one."""
    return tuple(int(part) for part in text.split(",")) if text else ()
