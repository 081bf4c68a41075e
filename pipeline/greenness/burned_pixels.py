"""Step that reads reflectance before and after a burn: how much of each unit burned."""

from contextlib import ExitStack
from dataclasses import asdict, dataclass, field
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.greenness.burned_share import (
    LEAST_UNBURNED_PIXELS,
    BurnedShare,
    RatioLoss,
    Unburned,
    burned_fractions,
    burned_share,
    char_value,
    ratio_loss,
    unburned_change,
)
from pipeline.greenness.change_layers import BURNED_SHARES
from pipeline.greenness.columns import joined_codes
from pipeline.greenness.logged_burns import (
    LeftAlone,
    PictureDates,
    UnburnedUnits,
    left_alone,
    logged_burns,
    pictures_around,
    spans_of,
    unburned_units,
    unclear_masks,
    undated_burns,
)
from pipeline.greenness.settings import GreennessSettings
from pipeline.pictures.mosaics import Mosaic, MosaicPair, on_one_grid, open_mosaics
from pipeline.pictures.raster_grid import Grid, pixel_m
from pipeline.pictures.vegetation_index import dnbr
from pipeline.pictures.zone_ground import (
    WHOLE,
    ZoneGround,
    ZoneWindow,
    burnable_ground,
    zone_ground,
)

HARDLY_PCT = 1.0
"""Pixels without data that move a share by less are not worth a word."""


QUANTITY = {"near_infrared": "nir", "mirbi": "mirbi"}
"""What is read from the pictures, by what burned ground is told by."""


Row = dict[str, Any]


def measure_burned_shares(
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Table ``burned_shares``: burned share of each unit at each burn, or why it is not known."""
    stacks = scenes[scenes["kind"] == "reflectance"]
    undated = undated_burns(chosen_comparisons, treatment_log)
    rows: list[Row] = [
        {"unit_id": unit_id, "verdict": "no_day", "burned_between": spans_of(pairs)}
        for unit_id, pairs in undated.groupby("unit_id")
    ]
    burns_by_dates: dict[PictureDates, list[tuple[pd.Series, Row]]] = {}
    for _, burn in logged_burns(treatment_log, scenes).iterrows():
        nearest = pictures_around(burn["burned"], burn["end"], stacks, settings)
        row = {"unit_id": burn["unit_id"], "burned": burn["burned"]}
        row |= {"before_days": nearest.before_days, "after_days": nearest.after_days}
        row["composites_near"] = nearest.composites_near
        if nearest.lacking is not None:
            rows.append(row | {"verdict": nearest.lacking})
        else:
            burns_by_dates.setdefault(nearest.dates, []).append((burn, row))
    grounds = dict(zip(units["unit_id"], burnable_ground(units, exclusions), strict=True))
    property_ = PropertyGround(units, CRS(units.crs), grounds, chosen_comparisons, settings)
    for dates, burns in burns_by_dates.items():
        alone = left_alone(treatment_log, undated, dates, settings)
        rows += _rows(property_, burns, dates, stacks, mask_presets, alone)
    frame = pd.DataFrame(rows, columns=BURNED_SHARES.column_names)
    acres = frame["unit_id"].map(units.set_index("unit_id")["burnable_ac"])
    return frame.assign(burned_ac=frame["burned_pct"].astype(float) / 100.0 * acres)


@dataclass(frozen=True, slots=True)
class PropertyGround:
    """The units, the ground of each that can burn, and what they are compared with."""

    units: gpd.GeoDataFrame
    crs: CRS
    grounds: dict[str, shapely.Geometry]
    chosen_comparisons: pd.DataFrame
    settings: GreennessSettings


@dataclass(frozen=True, slots=True)
class BurnPixels:
    """Usable pixels of a unit: how much of each lies in it, its values before and after."""

    shares: np.ndarray
    before: np.ndarray
    after: np.ndarray


@dataclass(frozen=True, slots=True)
class UnburnedGround:
    """Unburned ground: its units, what it did, and its median loss of the burn ratio."""

    unit_ids: list[str]
    change: Unburned
    ratio_offset: float


@dataclass(slots=True)
class PicturePair:
    """A picture before and one after; unburned ground is read once for all that is held to it."""

    mosaics: MosaicPair
    grid: Grid
    property_: PropertyGround
    buffer_m: float
    _grounds: dict[str, ZoneGround] = field(default_factory=dict)
    _changes: dict[tuple[str, str], np.ndarray] = field(default_factory=dict)
    _unburned: dict[tuple[str, ...], UnburnedGround | None] = field(default_factory=dict)

    def has(self, *quantities: str) -> bool:
        """Whether both pictures have bands of these quantities."""
        return all(mosaic.has(*quantities) for mosaic in self.mosaics)

    @property
    def read_from(self) -> str:
        """Code of the bands by which burned ground is told from unburned."""
        return "mirbi" if self.has("swir1", "swir2") else "near_infrared"

    def ground(self, unit_id: str) -> ZoneGround:
        """Ground of a unit on the pictures' grid."""
        if unit_id not in self._grounds:
            shape = np.array([self.property_.grounds[unit_id]], dtype=object)
            crs = self.property_.crs
            self._grounds[unit_id] = zone_ground(shape, crs, self.grid, self.buffer_m)
        return self._grounds[unit_id]

    def pixels(self, unit_id: str, quantity: str) -> BurnPixels:
        """Pixels of a unit that are usable both times."""
        return _read(self.ground(unit_id), self.mosaics, quantity)

    def changes(self, unit_id: str, quantity: str) -> np.ndarray:
        """Changes of the pixels wholly inside a unit."""
        if (unit_id, quantity) not in self._changes:
            pixels = self.pixels(unit_id, quantity)
            inside = pixels.shares >= WHOLE
            self._changes[unit_id, quantity] = pixels.after[inside] - pixels.before[inside]
        return self._changes[unit_id, quantity]

    def unburned(self, unit_ids: tuple[str, ...]) -> UnburnedGround | None:
        """Unburned ground of some units, None where it has too few pixels."""
        if unit_ids not in self._unburned:
            self._unburned[unit_ids] = _unburned_ground(self, unit_ids)
        return self._unburned[unit_ids]


def _read(ground: ZoneGround, mosaics: MosaicPair, quantity: str) -> BurnPixels:
    """Pixels of a unit that both pictures have, values turned so that burning lowers them."""
    window = ground.window(0)
    if window is None:
        return BurnPixels(np.empty(0), np.empty(0), np.empty(0))
    read = [_band(band, mosaics, quantity) for band in window.bands()]
    shares, before, after = (np.concatenate(parts) for parts in zip(*read, strict=True))
    sign = -1.0 if quantity == "mirbi" else 1.0
    return BurnPixels(shares, sign * before, sign * after)


def _band(
    window: ZoneWindow, mosaics: MosaicPair, quantity: str
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Shares of the usable pixels of some rows of a unit, their values before and after."""
    shares = window.shares()
    before, after = values_of(window, mosaics, quantity)
    chosen = (shares > 0) & np.isfinite(before) & np.isfinite(after)
    return shares[chosen], before[chosen], after[chosen]


def values_of(
    window: ZoneWindow, mosaics: MosaicPair, quantity: str
) -> tuple[np.ndarray, np.ndarray]:
    """Values of the pixels of a window before and after; NaN where they are not usable."""
    read = (m.read(quantity, *window.rows, [window.columns]) for m in mosaics)
    before, after = (np.where(values.usable, values.value, np.nan) for values in read)
    return before, after


def _unburned_ground(pair: PicturePair, unit_ids: tuple[str, ...]) -> UnburnedGround | None:
    """Unburned ground from the pixels wholly inside some units."""
    changes = {u: pair.changes(u, QUANTITY[pair.read_from]) for u in unit_ids}
    if sum(map(len, changes.values())) < LEAST_UNBURNED_PIXELS:
        return None
    offset = np.nan
    if pair.has("nir", "swir2"):
        ratios = np.concatenate([pair.changes(u, "nbr") for u in unit_ids])
        offset = float(np.median(dnbr(np.zeros_like(ratios), ratios))) if len(ratios) else np.nan
    return UnburnedGround(
        [u for u, change in changes.items() if len(change)],
        unburned_change(np.concatenate(list(changes.values()))),
        offset,
    )


def _rows(
    property_: PropertyGround,
    burns: list[tuple[pd.Series, Row]],
    dates: PictureDates,
    stacks: pd.DataFrame,
    presets: pd.DataFrame,
    alone: LeftAlone,
) -> list[Row]:
    """Rows of the burns between two pictures."""
    single = stacks[stacks["span_days"] == 1]
    scenes = [single[single["date"] == date] for date in (dates.before, dates.after)]
    masks = unclear_masks(pd.concat(scenes), presets)
    rows = []
    with ExitStack() as stack:
        mosaics = [
            stack.enter_context(open_mosaics(of_date, presets, for_burned=True))
            for of_date in scenes
        ]
        pair = paired_pictures(mosaics, property_)
        for burn, row in burns:
            if pair is None:
                rows.append(row | {"verdict": "different_pixels"})
                continue
            answer = _measured(pair, burn, alone)
            if answer["verdict"] == "measured":
                work = alone.other_work(burn["unit_id"], burn["burned"])
                answer |= {"other_work": work, "unclear_masks": masks}
                days = row["after_days"]
                answer["caution"] = joined_codes(_cautions(answer, days, property_.settings))
            rows.append(
                row | {"picture_before": dates.before, "picture_after": dates.after} | answer
            )
    return rows


def _cautions(answer: Row, after_days: int, settings: GreennessSettings) -> list[str]:
    """Codes of what to keep in mind beside a measured share."""
    cautions = {
        "wide_bounds": answer["high_pct"] - answer["low_pct"] >= HARDLY_PCT,
        "other_cover": answer["other_cover"],
        "other_work": answer["other_work"],
        "late_picture": after_days > settings.fresh_picture_days,
        "mask_unclear": answer["unclear_masks"],
    }
    return [code for code, holds in cautions.items() if holds]


def paired_pictures(both: list[list[Mosaic]], property_: PropertyGround) -> PicturePair | None:
    """Two pictures on the grid that holds both, None where their pixels do not match."""
    old, new = both
    grid = on_one_grid((old[0], new[0])) if len(old) == len(new) == 1 else None
    if grid is None:
        return None
    settings, sensors = property_.settings, [old[0].sensors, new[0].sensors]
    mixed = all(sensors) and sensors[0] != sensors[1]
    buffer = settings.mixed_buffer_pixels if mixed else settings.buffer_pixels
    pixel = pixel_m(grid, np.array(list(property_.grounds.values())), property_.crs)
    return PicturePair((old[0], new[0]), grid, property_, buffer * pixel)


@dataclass(frozen=True, slots=True)
class BurnReading:
    """What burned ground of a unit is told from unburned by."""

    pixels: BurnPixels
    chosen: UnburnedUnits
    unburned: UnburnedGround
    char: float

    def fractions(self, before: np.ndarray, after: np.ndarray) -> np.ndarray:
        """Burned fraction of pixels by their values before and after."""
        return burned_fractions(before, after, self.unburned.change, self.char)


def burn_reading(pair: PicturePair, burn: pd.Series, alone: LeftAlone) -> BurnReading | str:
    """What a burn of a unit is told by, or the code of why it cannot be told."""
    if not pair.has("nir") and not pair.has("swir1", "swir2"):
        return "no_near_infrared"
    ground = pair.ground(burn["unit_id"])
    pixels = pair.pixels(burn["unit_id"], QUANTITY[pair.read_from])
    least = pair.property_.settings.least_full_pixels
    if ground.full_pixels[0] < least or not len(pixels.shares):
        return "too_small"
    chosen, unburned = nearest_unburned(pair, burn, alone)
    if unburned is None:
        return "no_unburned_ground"
    expected = float(np.median(pixels.before)) + unburned.change.change
    char = char_value(pixels.after, expected, pair.read_from)
    return BurnReading(pixels, chosen, unburned, char)


def share_of_burn(reading: BurnReading, ground: ZoneGround) -> BurnedShare:
    """Burned share of the ground of a unit."""
    fractions = reading.fractions(reading.pixels.before, reading.pixels.after)
    return burned_share(fractions, reading.pixels.shares, float(ground.whole_pixels[0]))


def _measured(pair: PicturePair, burn: pd.Series, alone: LeftAlone) -> Row:
    """Burned share of a unit against unburned ground, or the code of why it cannot be told."""
    reading = burn_reading(pair, burn, alone)
    if isinstance(reading, str):
        return {"verdict": reading}
    share = share_of_burn(reading, pair.ground(burn["unit_id"]))
    if share.valid_pct < pair.property_.settings.least_valid_pct:
        return {"verdict": "too_little_usable", "valid_pct": share.valid_pct}
    loss = RatioLoss(np.nan, np.nan)
    if pair.has("nir", "swir2"):
        ratio = pair.pixels(burn["unit_id"], "nbr")
        offset = reading.unburned.ratio_offset
        loss = ratio_loss(ratio.shares, ratio.before, ratio.after, offset)
    units = {
        "reference_units": ", ".join(reading.unburned.unit_ids),
        "other_cover": reading.chosen.other_cover,
    }
    read_from = {"read_from": pair.read_from, "verdict": "measured"}
    return asdict(share) | asdict(loss) | units | read_from


def nearest_unburned(
    pair: PicturePair, burn: pd.Series, alone: LeftAlone
) -> tuple[UnburnedUnits, UnburnedGround | None]:
    """The first group of units that has enough unburned pixels, and what they did."""
    property_ = pair.property_
    groups = unburned_units(burn, property_.units, property_.chosen_comparisons, alone)
    unburned = None
    for group in groups:
        unburned = pair.unburned(group.unit_ids)
        if unburned is not None:
            break
    return group, unburned
