"""Bands of a raster by the names that the file gives them, and what such a name says."""

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

from pipeline.core.errors import Fault
from pipeline.core.names import listed

LIGHT = {
    "red": "red light",
    "nir": "near-infrared",
    "swir1": "short-wave infrared near 1.6 µm",
    "swir2": "short-wave infrared near 2.2 µm",
    "ndvi": "NDVI",
}
"""What the quantities of a band are, in words."""

WORDS = {
    **{name: name for name in LIGHT},
    **dict.fromkeys(("nir08", "nearinfrared"), "nir"),
    "swir16": "swir1",
    "swir22": "swir2",
    **dict.fromkeys(("blue", "green", "edge", "rededge", "pan", "evi", "thermal"), "another"),
}
"""Words for quantities; ``another`` is one that nothing here is read from.

Common practice, no source.
"""

SENTINEL_2 = {"B04": "red", "B08": "nir", "B8A": "nir", "B11": "swir1", "B12": "swir2"}
"""*Source*: ESA, Sentinel-2 MSI: B4 665 nm, B8 842 nm, B8A 865 nm, B11 1,610 nm, B12 2,190 nm."""

LANDSAT_8 = {"B04": "red", "B05": "nir", "B06": "swir1", "B07": "swir2"}
"""*Source*: USGS LSDS-1619 (Landsat 8 and 9, OLI); so are those of HLS L30."""

LANDSAT_7 = {"B03": "red", "B04": "nir", "B05": "swir1", "B07": "swir2"}
"""*Source*: USGS LSDS-1618 (Landsat 4 to 7, TM and ETM+)."""

CODES: Mapping[str | None, Mapping[str, str]] = {
    **dict.fromkeys(("S2", "S2A", "S2B", "S2C", "S2D", "HLS.S30"), SENTINEL_2),
    **dict.fromkeys(("LC08", "LO08", "LC09", "LO09", "HLS.L30"), LANDSAT_8),
    **dict.fromkeys(("LT04", "LT05", "LE07"), LANDSAT_7),
    None: {code: SENTINEL_2[code] for code in ("B08", "B8A", "B11", "B12")},
}
"""What the numbers of a sensor's bands stand for; of an unknown one those that only one has."""

CODE = re.compile(r"(?i)\bb(?:and)?[ _]?(\d{1,2}|8a)\b")


def words_in(text: str) -> list[str]:
    """Words of a description in small letters; blanks and marks part them."""
    return re.findall(r"[^\W_]+", text.lower())


def quantity_of(description: str | None, sensor: str | None = None) -> str | None:
    """Quantity that a band's description speaks of, ``another``, or None where nobody can tell."""
    words = words_in(description or "")
    pairs = [first + second for first, second in pairwise(words)]
    named = {WORDS[word] for word in (*words, *pairs) if word in WORDS}
    if "another" in named:
        return "another"
    if not named:
        codes = CODE.findall(" ".join(words))
        known = CODES.get(sensor, CODES[None])
        named = {known[f"B{code.upper():0>2}"] for code in codes if f"B{code.upper():0>2}" in known}
    return named.pop() if len(named) == 1 else None


def band_named(name: str, descriptions: Sequence[str | None]) -> list[int]:
    """Numbers of the bands that a name can mean: those called so, or else with it as a part."""
    wanted = words_in(name)
    parts = [words_in(text or "") for text in descriptions]
    whole = [number for number, words in enumerate(parts, 1) if words == wanted]
    held = [number for number, words in enumerate(parts, 1) if _holds(words, wanted)]
    return whole or held


def _holds(words: list[str], wanted: list[str]) -> bool:
    """Whether words stand among others one after another."""
    count = len(wanted)
    return any(words[n : n + count] == wanted for n in range(len(words) - count + 1))


def name_fault(
    quantity: str, name: str, numbers: Sequence[int], descriptions: Sequence[str | None], where: str
) -> Fault:
    """The fault of a name that no band has, or that several have."""
    called = [f"{number} {text}" for number, text in enumerate(descriptions, 1) if text]
    found = f'{quantity} = "{name}", and no band is called so'
    if numbers:
        found = f'{quantity} = "{name}" can be band {" or ".join(map(str, numbers))}'
    do = f"say its number; the file has {listed(called, 12)}"
    if not called:
        do = "the file names no bands: say its number"
    return Fault(where, found, "the name of one band", do)


def contradiction(
    quantity: str, number: int, descriptions: Sequence[str | None], sensor: str | None, where: str
) -> Fault | None:
    """The fault of a band that the file itself calls something else, None where it does not."""
    told = quantity_of(descriptions[number - 1], sensor)
    if told in (None, quantity):
        return None
    right = [n for n, text in enumerate(descriptions, 1) if quantity_of(text, sensor) == quantity]
    found = f'{quantity} = {number}, and the file calls band {number} "{descriptions[number - 1]}"'
    do = "look which is right: mend the number, or the description in the file"
    if len(right) == 1:
        do = f"say {quantity} = {right[0]}, or mend the description in the file"
    return Fault(where, found, f"the band of {LIGHT[quantity]}", do)
