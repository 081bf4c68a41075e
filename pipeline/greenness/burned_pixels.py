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
from pipeline.greenness.logged_burns import (
    LeftAlone,
    PictureDates,
    left_alone,
    logged_burns,
    mask_caution,
    pictures_around,
    regrowth_caution,
    unburned_units,
    undated_burns,
    undated_words,
)
from pipeline.greenness.settings import GreennessSettings
from pipeline.pictures.mosaics import Mosaic, on_one_grid, open_mosaics
from pipeline.pictures.raster_grid import Grid, pixel_m
from pipeline.pictures.vegetation_index import dnbr
from pipeline.pictures.zone_ground import (
    WHOLE,
    ZoneGround,
    ZoneWindow,
    burnable_ground,
    zone_ground,
)

COLUMNS = [
    "unit_id", "burned", "picture_before", "picture_after", "read_from", "burned_pct",
    "mostly_pct", "low_pct", "high_pct", "burned_ac", "valid_pct", "dnbr", "rbr",
    "reference_units", "verdict", "caution",
]  # fmt: skip


QUANTITY = {"near-infrared": "nir", "MIRBI": "mirbi"}


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
        {"unit_id": unit_id, "burned": pd.NaT, "verdict": undated_words(pairs)}
        for unit_id, pairs in undated.groupby("unit_id")
    ]
    burns_by_dates: dict[PictureDates, list[pd.Series]] = {}
    for _, burn in logged_burns(treatment_log, scenes).iterrows():
        dates = pictures_around(burn["burned"], burn["end"], stacks, settings)
        if isinstance(dates, str):
            rows.append({"unit_id": burn["unit_id"], "burned": burn["burned"], "verdict": dates})
        else:
            burns_by_dates.setdefault(dates, []).append(burn)
    grounds = dict(zip(units["unit_id"], burnable_ground(units, exclusions), strict=True))
    property_ = _Property(units, CRS(units.crs), grounds, chosen_comparisons, settings)
    for dates, burns in burns_by_dates.items():
        alone = left_alone(treatment_log, undated, dates, settings)
        rows += _rows(property_, burns, dates, stacks, mask_presets, alone)
    frame = pd.DataFrame(rows, columns=COLUMNS)
    acres = frame["unit_id"].map(units.set_index("unit_id")["burnable_ac"])
    return frame.assign(burned_ac=frame["burned_pct"].astype(float) / 100.0 * acres)


@dataclass(frozen=True, slots=True)
class _Property:
    """The units, the ground of each that can burn, and what they are compared with."""

    units: gpd.GeoDataFrame
    crs: CRS
    grounds: dict[str, shapely.Geometry]
    compared: pd.DataFrame
    settings: GreennessSettings


@dataclass(frozen=True, slots=True)
class _Pixels:
    """Usable pixels of a unit: how much of each lies in it, its values before and after."""

    shares: np.ndarray
    before: np.ndarray
    after: np.ndarray


@dataclass(frozen=True, slots=True)
class _Held:
    """Unburned ground: its units, what it did, and its median loss of the burn ratio."""

    unit_ids: list[str]
    change: Unburned
    ratio_offset: float


@dataclass(slots=True)
class _PicturePair:
    """A picture before and one after; unburned ground is read once for all that is held to it."""

    pictures: tuple[Mosaic, Mosaic]
    grid: Grid
    property_: _Property
    buffer_m: float
    _grounds: dict[str, ZoneGround] = field(default_factory=dict)
    _changes: dict[tuple[str, str], np.ndarray] = field(default_factory=dict)
    _held: dict[tuple[str, ...], _Held | None] = field(default_factory=dict)

    def has(self, *quantities: str) -> bool:
        """Whether all tiles of both pictures have bands of these quantities."""
        return all(p.has(*quantities) for p in self.pictures)

    @property
    def read_from(self) -> str:
        """What burned ground is told by."""
        return "MIRBI" if self.has("swir1", "swir2") else "near-infrared"

    def ground(self, unit_id: str) -> ZoneGround:
        """Ground of a unit on the pictures' grid."""
        if unit_id not in self._grounds:
            own = np.array([self.property_.grounds[unit_id]], dtype=object)
            crs = self.property_.crs
            self._grounds[unit_id] = zone_ground(own, crs, self.grid, self.buffer_m)
        return self._grounds[unit_id]

    def pixels(self, unit_id: str, quantity: str) -> _Pixels:
        """Pixels of a unit that are usable both times."""
        return _read(self.ground(unit_id), self.pictures, quantity)

    def changes(self, unit_id: str, quantity: str) -> np.ndarray:
        """Changes of the pixels wholly inside a unit."""
        if (unit_id, quantity) not in self._changes:
            own = self.pixels(unit_id, quantity)
            inside = own.shares >= WHOLE
            self._changes[unit_id, quantity] = own.after[inside] - own.before[inside]
        return self._changes[unit_id, quantity]

    def held(self, unit_ids: tuple[str, ...]) -> _Held | None:
        """Unburned ground of some units, None where it has too few pixels."""
        if unit_ids not in self._held:
            self._held[unit_ids] = _held(self, unit_ids)
        return self._held[unit_ids]


def _read(ground: ZoneGround, pictures: tuple[Mosaic, Mosaic], quantity: str) -> _Pixels:
    """Pixels of a unit that both pictures have, values turned so that burning lowers them."""
    window = ground.window(0)
    if window is None:
        return _Pixels(np.empty(0), np.empty(0), np.empty(0))
    read = [_band(band, pictures, quantity) for band in window.bands()]
    shares, before, after = (np.concatenate(parts) for parts in zip(*read, strict=True))
    sign = -1.0 if quantity == "mirbi" else 1.0
    return _Pixels(shares, sign * before, sign * after)


def _band(
    window: ZoneWindow, pictures: tuple[Mosaic, Mosaic], quantity: str
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Shares of the usable pixels of some rows of a unit, their values before and after."""
    shares = window.shares()
    before, after = (p.read(quantity, *window.rows, [window.columns]) for p in pictures)
    chosen = (shares > 0) & before.usable & after.usable
    return shares[chosen], before.value[chosen], after.value[chosen]


def _held(pair: _PicturePair, unit_ids: tuple[str, ...]) -> _Held | None:
    """Unburned ground from the pixels wholly inside some units."""
    changes = {u: pair.changes(u, QUANTITY[pair.read_from]) for u in unit_ids}
    if sum(map(len, changes.values())) < LEAST_UNBURNED_PIXELS:
        return None
    offset = np.nan
    if pair.has("nir", "swir2"):
        ratios = np.concatenate([pair.changes(u, "nbr") for u in unit_ids])
        offset = float(np.median(dnbr(np.zeros_like(ratios), ratios))) if len(ratios) else np.nan
    return _Held(
        [u for u, change in changes.items() if len(change)],
        unburned_change(np.concatenate(list(changes.values()))),
        offset,
    )


def _rows(
    property_: _Property,
    burns: list[pd.Series],
    dates: PictureDates,
    stacks: pd.DataFrame,
    presets: pd.DataFrame,
    alone: LeftAlone,
) -> list[Row]:
    """Rows of the burns between two pictures."""
    tiles = [stacks[(stacks["date"] == date) & (stacks["span_days"] == 1)]
             for date in (dates.before, dates.after)]  # fmt: skip
    masked = mask_caution(pd.concat(tiles), presets)
    rows = []
    with ExitStack() as stack:
        pictures = [
            stack.enter_context(open_mosaics(own, presets, for_burned=True)) for own in tiles
        ]
        pair = _paired(pictures, property_)
        for burn in burns:
            row: Row = {"unit_id": burn["unit_id"], "burned": burn["burned"]}
            if pair is None:
                words = "cannot tell: the pictures before and after have different pixels"
                rows.append(row | {"verdict": words})
                continue
            told = _told(pair, burn, alone)
            if "burned_pct" in told:
                others = alone.others(burn["unit_id"], burn["burned"])
                also = others and f"also on record, and in the figure: {others}"
                late = regrowth_caution(burn["end"], dates, property_.settings)
                cautions = (told["caution"], also, late, masked)
                told = told | {"caution": "; ".join(filter(None, cautions)) or None}
            rows.append(row | {"picture_before": dates.before, "picture_after": dates.after} | told)
    return rows


def _paired(pictures: list[list[Mosaic]], property_: _Property) -> _PicturePair | None:
    """Two pictures on the grid that holds both, None where their pixels do not match."""
    old, new = pictures
    grid = on_one_grid((old[0], new[0])) if len(old) == len(new) == 1 else None
    if grid is None:
        return None
    settings, sensors = property_.settings, [old[0].sensors, new[0].sensors]
    mixed = all(sensors) and sensors[0] != sensors[1]
    buffer = settings.mixed_buffer_pixels if mixed else settings.buffer_pixels
    pixel = pixel_m(grid, np.array(list(property_.grounds.values())), property_.crs)
    return _PicturePair((old[0], new[0]), grid, property_, buffer * pixel)


def _told(pair: _PicturePair, burn: pd.Series, alone: LeftAlone) -> Row:
    """Burned share of a unit against unburned ground, or why it cannot be told."""
    if not pair.has("nir") and not pair.has("swir1", "swir2"):
        return {"verdict": "cannot tell: needs near-infrared on both dates"}
    ground = pair.ground(burn["unit_id"])
    own = pair.pixels(burn["unit_id"], QUANTITY[pair.read_from])
    least = pair.property_.settings.least_full_pixels
    if ground.full_pixels[0] < least or not len(own.shares):
        return {"verdict": "cannot tell: too small for these pixels, or no data"}
    groups = unburned_units(burn, pair.property_.units, pair.property_.compared, alone)
    choices = ((pair.held(tuple(unit_ids)), caution) for unit_ids, caution in groups)
    held, caution = next(((h, words) for h, words in choices if h is not None), (None, None))
    if held is None:
        return {"verdict": "cannot tell: too few pixels of units that were not burned"}
    unburned = float(np.median(own.before)) + held.change.change
    char = char_value(own.after, unburned, pair.read_from)
    fractions = burned_fractions(own.before, own.after, held.change, char)
    share = burned_share(fractions, own.shares, float(ground.whole_pixels[0]))
    if share.valid_pct < pair.property_.settings.least_valid_pct:
        words = f"cannot tell: only {share.valid_pct:.0f} percent of it can be read"
        return {"verdict": words, "valid_pct": share.valid_pct}
    loss = RatioLoss(np.nan, np.nan)
    if pair.has("nir", "swir2"):
        ratio = pair.pixels(burn["unit_id"], "nbr")
        loss = ratio_loss(ratio.shares, ratio.before, ratio.after, held.ratio_offset)
    return {
        **asdict(share), **asdict(loss), "read_from": pair.read_from,
        "reference_units": ", ".join(held.unit_ids),
        "verdict": f"about {share.burned_pct:.0f} percent burned",
        "caution": "; ".join(filter(None, (_bounds(share), caution))),
    }  # fmt: skip


def _bounds(share: BurnedShare) -> str | None:
    """How far pixels without data may move the share, None for hardly."""
    if share.high_pct - share.low_pct < 1.0:
        return None
    return (
        f"{share.low_pct:.0f} to {share.high_pct:.0f} percent, if pixels without data count as "
        "unburned or as burned"
    )
