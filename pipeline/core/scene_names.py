"""What the name of a satellite product tells: day, sensor, and how its numbers are scaled.

Only names as their producers give them are read; other numbers in a file name mean nothing here.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

import numpy as np


@dataclass(frozen=True, slots=True)
class Scaling:
    """A value is a stored number times ``scale`` plus ``offset``."""

    scale: float = 1.0
    offset: float = 0.0

    def value(self, stored: np.ndarray) -> np.ndarray:
        """Values of stored numbers, in 64 bits: whole numbers would wrap around, others be cut."""
        value = np.multiply(stored, self.scale, dtype=np.float64)
        return value + self.offset if self.offset else value

    def stored(self, value: float) -> float:
        """Number, whole or not, that stands for a value."""
        return (value - self.offset) / self.scale

    def then(self, after: "Scaling") -> "Scaling":
        """The scaling that comes of this one first and another one after it."""
        return Scaling(after.scale * self.scale, after.scale * self.offset + after.offset)

    def moments(self, count: np.ndarray, total: np.ndarray, squares: np.ndarray) -> "Moments":
        """Moments of values from the sums of their stored numbers and of the squares of those.

        Departures from the mean are taken first and scaled after: nothing is lost to the offset.
        """
        middle = np.divide(total, count, out=np.zeros_like(total), where=count > 0)
        departures = np.maximum(squares - middle * total, 0.0)
        return Moments(count, self.scale * total + self.offset * count, self.scale**2 * departures)


@dataclass(frozen=True, slots=True)
class Moments:
    """Number of values, their sum, and the sum of their squared departures from the mean."""

    count: np.ndarray
    total: np.ndarray
    departures: np.ndarray

    @property
    def mean(self) -> np.ndarray:
        """Mean of the values; NaN where there are none."""
        return ratio(self.total, self.count)

    @property
    def sd(self) -> np.ndarray:
        """Standard deviation of the values themselves (population), NaN of no value."""
        return np.sqrt(ratio(self.departures, self.count))

    def part(self, cells: slice) -> "Moments":
        """Moments of some of them."""
        return Moments(self.count[cells], self.total[cells], self.departures[cells])

    def with_others(self, others: "Moments", weight: float) -> "Moments":
        """Moments together with other values, each of which counts ``weight`` times.

        *Source*: T. F. Chan, G. H. Golub and R. J. LeVeque, American Statistician 37 (1983) 242-247
        (from memory, to be checked): how sums about two means are joined.
        """
        count = self.count + weight * others.count
        apart = np.nan_to_num(others.mean - self.mean)
        between = np.nan_to_num(ratio(self.count * weight * others.count, count)) * apart**2
        return Moments(
            count,
            self.total + weight * others.total,
            self.departures + weight * others.departures + between,
        )


def ratio(part: np.ndarray, whole: np.ndarray) -> np.ndarray:
    """Parts divided by wholes, NaN where the whole is 0."""
    return np.divide(part, whole, out=np.full(np.shape(whole), np.nan), where=whole > 0)


AS_IT_STANDS = Scaling()
"""The stored number is the value."""


PATTERNS: tuple[tuple[str, str], ...] = (
    # Landsat: the first date is the day taken, the second that of processing.
    (
        r"(?P<sensor>L[COTEM]0[4-9])_L(?P<level>[12])\w{2}_\d{6}_(?P<ymd>\d{8})_\d{8}_\d{2}_",
        "%Y%m%d",
    ),
    # Sentinel-2
    (
        r"(?P<sensor>S2[ABCD])_MSIL[12][AC]_(?P<ymd>\d{8})T\d{6}_N(?P<baseline>\d{4})_R\d{3}_T\w{5}",
        "%Y%m%d",
    ),
    # Landsat and Sentinel-2 harmonized
    (r"(?P<sensor>HLS(?:-VI)?\.[LS]30)\.T\w{5}\.(?P<ymd>\d{7})T\d{6}\.v\d\.\d", "%Y%j"),
    # MODIS
    (r"(?P<sensor>M[OY]D13Q1)\.A(?P<ymd>\d{7})\.h\d{2}v\d{2}\.\d{3}", "%Y%j"),
    # Sentinel-2 by its tile: bands as ESA packs them, and as clouds of files name them
    (r"(?P<tile>T\d{2}[A-Z]{3})_(?P<ymd>\d{8})T\d{6}(?!\d)", "%Y%m%d"),
    (r"(?P<sensor>S2[ABCD])_(?P<tile>\d{1,2}[A-Z]{3})_(?P<ymd>\d{8})_\d+_L2A", "%Y%m%d"),
    (r"(?<!\d)(?P<ymd>\d{8})T\d{6}_\d{8}T\d{6}_(?P<tile>T\d{2}[A-Z]{3})", "%Y%m%d"),
)

DAY_IN_TEXT = re.compile(r"(?<!\d)((?:19|20)\d\d)([-_]?)(\d\d)\2(\d\d)(?!\d)")
"""A day anywhere in a name: year, month and day in one way of writing."""

ANY_SENTINEL_2 = "S2"
"""Sensor of a name that tells the tile of Sentinel-2 and not which of the satellites."""


COMPOSITE_DAYS = {"MOD13Q1": 16, "MYD13Q1": 16}
"""Products made of the best pixels of so many days from the date in the name.

*Source*: MOD13Q1 and MYD13Q1 version 6.1, 16-day composites (LP DAAC product pages).
"""


INSTRUMENTS = {
    **dict.fromkeys((ANY_SENTINEL_2, "S2A", "S2B", "S2C", "S2D"), "MSI"),
    **dict.fromkeys(("LC08", "LO08", "LC09", "LO09"), "OLI"),
    **dict.fromkeys(("LT04", "LT05"), "TM"),
    **dict.fromkeys(COMPOSITE_DAYS, "MODIS"),
    **{f"HLS-VI.{sensor}": f"HLS.{sensor}" for sensor in ("L30", "S30")},
}
"""Sensors of one make on several satellites: their pictures compare as those of one sensor.

*Source*: NDVI of the two Sentinel-2 differs by less than that of Sentinel-2 and Landsat, which is
at most 0.006 (bandpass adjustment of HLS, hls.gsfc.nasa.gov; the difference computed).
"""


LANDSAT_LEVEL_2 = ("LT04 2", "LT05 2", "LE07 2", "LC08 2", "LC09 2")

TEN_THOUSANDTHS = Scaling(0.0001)

SCALINGS: Mapping[str, Mapping[str, Scaling]] = {
    **{name: {"reflectance": Scaling(0.0000275, -0.2)} for name in LANDSAT_LEVEL_2},
    **{
        f"HLS.{sensor}": {"ndvi": TEN_THOUSANDTHS, "reflectance": TEN_THOUSANDTHS}
        for sensor in ("L30", "S30")
    },
    **{name: {"ndvi": TEN_THOUSANDTHS} for name in ("HLS-VI.L30", "HLS-VI.S30", *COMPOSITE_DAYS)},
}
"""Published scalings of products, of Landsat with their level.

*Source*: Landsat Collection 2 Level 2 metadata (REFLECTANCE_MULT_BAND_n 2.75e-05,
REFLECTANCE_ADD_BAND_n -0.2); HLS version 2.0 and HLS-VI (hls.gsfc.nasa.gov); MOD13Q1 version 6.1
(LP DAAC).
"""


FILLS: Mapping[str, int] = {
    **dict.fromkeys(LANDSAT_LEVEL_2, 0),
    **dict.fromkeys(("HLS.L30", "HLS.S30"), -9999),
    **dict.fromkeys(("HLS-VI.L30", "HLS-VI.S30"), -19999),
    **dict.fromkeys(COMPOSITE_DAYS, -3000),
}
"""Published numbers for no data: the same sources; HLS-VI from its producer's program."""


OFFSET_BASELINE = 400
"""Sentinel-2 Level 2A from processing baseline 04.00 on stores reflectance plus 0.1.

*Source*: ESA, products since 25 January 2022 and the reprocessed Collection 1 (BOA_ADD_OFFSET
-1000, BOA_QUANTIFICATION_VALUE 10000).
"""

OFFSET_SINCE = date(2022, 1, 25)
"""From this day on every Sentinel-2 Level 2A product has the offset, unless it was taken away."""


@dataclass(frozen=True, slots=True)
class SceneName:
    """Day and sensor of a product, None where the name doesn't tell.

    ``span_days`` is how many days from that day on the pixels may be from: 1 for a single day.
    ``scalings`` are the published ones of the product, by kind of raster, ``fill`` is the number
    that it stores where there is no data. ``days`` are those of a name in which several stand and
    nothing says which is the picture's; ``offset_unknown`` marks Sentinel-2 with a tile but no
    baseline: since 2022 its reflectance may be stored with a tenth too much.
    """

    taken: date | None
    sensor: str | None
    span_days: int = 1
    scalings: Mapping[str, Scaling] = field(default_factory=dict)
    fill: int | None = None
    days: tuple[date, ...] = ()
    offset_unknown: bool = False


def instrument_of(sensor: str) -> str:
    """Make of a sensor, which sensors of the same build on several satellites share."""
    return INSTRUMENTS.get(sensor, sensor)


def scene_name(file_name: str) -> SceneName:
    """What the name of a product's file tells."""
    for pattern, form in PATTERNS:
        match = re.search(pattern, file_name)
        taken = _day(match["ymd"], form) if match else None
        if match is None or taken is None:
            continue
        parts = match.groupdict()
        sensor, baseline = parts.get("sensor"), parts.get("baseline")
        span_days = COMPOSITE_DAYS.get(sensor or "", 1)
        if baseline:
            offset = -0.1 if int(baseline) >= OFFSET_BASELINE else 0.0
            return SceneName(taken, sensor, span_days, {"reflectance": Scaling(0.0001, offset)}, 0)
        if parts.get("tile"):
            return SceneName(
                taken, sensor or ANY_SENTINEL_2, fill=0, offset_unknown=taken >= OFFSET_SINCE
            )
        product = " ".join(filter(None, (sensor, parts.get("level"))))
        scalings, fill = SCALINGS.get(product, {}), FILLS.get(product)
        return SceneName(taken, sensor, span_days, scalings, fill)
    days = days_in(file_name)
    return SceneName(days[0] if len(days) == 1 else None, None, days=days if days[1:] else ())


def days_in(text: str) -> tuple[date, ...]:
    """Different days that stand in a text as year, month, day, in their order."""
    found = (_day("".join(m.group(1, 3, 4)), "%Y%m%d") for m in DAY_IN_TEXT.finditer(text))
    return tuple(dict.fromkeys(day for day in found if day is not None))


def _day(text: str, form: str) -> date | None:
    """The day that a text of a form stands for, None where it is none of the calendar."""
    try:
        day = datetime.strptime(text, form).date()
    except ValueError:
        return None
    return day if day.strftime(form) == text else None  # day 366 of a common year


LANDSAT_8_LINE = Scaling(0.9723, 0.0235)
"""NDVI that Landsat 8 would show, from that of Landsat 7: 0.0235 + 0.9723·NDVI.

*Source*: D. P. Roy et al., Remote Sensing of Environment 185 (2016) 57-70, surface NDVI, ordinary
least squares (as quoted by others; the table itself was not seen). Another published route, band by
band, differs by 0.018: a change across sensors below about 0.02 is no evidence.
"""
