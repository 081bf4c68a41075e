"""What the name of a satellite product tells: the day it was taken, and the sensor.

Only names as their producers give them are read; other numbers in a file name mean nothing here.
"""

import re
from dataclasses import dataclass
from datetime import date, datetime

PATTERNS: tuple[tuple[str, str], ...] = (
    # Landsat: the first date is the day taken, the second that of processing.
    (r"(?P<sensor>L[COTEM]0[4-9])_L[12]\w{2}_\d{6}_(?P<ymd>\d{8})_\d{8}_\d{2}_", "%Y%m%d"),
    (r"(?P<sensor>S2[ABCD])_MSIL[12][AC]_(?P<ymd>\d{8})T\d{6}_N\d{4}_R\d{3}_T\w{5}", "%Y%m%d"),
    (r"(?P<sensor>HLS\.[LS]30)\.T\w{5}\.(?P<ymd>\d{7})T\d{6}\.v\d\.\d", "%Y%j"),
    (r"(?P<sensor>M[OY]D13Q1)\.A(?P<ymd>\d{7})\.h\d{2}v\d{2}\.\d{3}", "%Y%j"),
    (r"T\d{2}[A-Z]{3}_(?P<ymd>\d{8})T\d{6}_(?:B\w{2}|SCL)", "%Y%m%d"),
    (r"(?<!\d)(?P<ymd>\d{4}-\d{2}-\d{2})(?!\d)", "%Y-%m-%d"),
    (r"(?<!\d)(?P<ymd>\d{4}_\d{2}_\d{2})(?!\d)", "%Y_%m_%d"),
)  # fmt: skip
COMPOSITE_DAYS = {"MOD13Q1": 16, "MYD13Q1": 16}
"""Products made of the best pixels of so many days from the date in the name.

*Source*: MOD13Q1 and MYD13Q1 version 6.1, 16-day composites (LP DAAC product pages).
"""


@dataclass(frozen=True, slots=True)
class SceneName:
    """Day and sensor of a product, None where the name doesn't tell.

    ``span_days`` is how many days from that day on the pixels may be from: 1 for a single day.
    """

    taken: date | None
    sensor: str | None
    span_days: int = 1


def scene_name(file_name: str) -> SceneName:
    """What the name of a product's file tells."""
    for pattern, form in PATTERNS:
        match = re.search(pattern, file_name)
        if match:
            try:
                taken = datetime.strptime(match["ymd"], form).date()
            except ValueError:
                continue
            sensor = match.groupdict().get("sensor")
            return SceneName(taken, sensor, COMPOSITE_DAYS.get(sensor or "", 1))
    return SceneName(None, None)
