"""Exact factors, conversions, and the list of allowed unit suffixes.

Inside, everything is metric. A column or setting that a person reads carries its unit as the
last part of its name; ``unit_of`` reads it from there, so that a name and its unit cannot part.

*Source* of the factors: NIST Special Publication 811 (2008), Guide for the Use of the
International System of Units, appendix B; exact by definition. Feet and acres are the
international foot and the acre of 43,560 square international feet (the U.S. survey foot was
retired at the end of 2022, Federal Register 85 FR 62698; the two acres differ by 4 ppm).
"""

from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Final

M_PER_FT: Final = 0.3048


FT_PER_MI: Final = 5280.0


M_PER_MI: Final = M_PER_FT * FT_PER_MI


SQFT_PER_AC: Final = 43560.0


M2_PER_AC: Final = SQFT_PER_AC * M_PER_FT**2


G_PER_LB: Final = 453.59237


OZ_PER_LB: Final = 16.0


UNIT_BY_SUFFIX: Final[dict[str, str]] = {
    "ac": "acre",
    "angle_deg": "degree of an angle",
    "arc_deg": "degree of an angle",
    "corner_deg": "degree of an angle",
    "ac_hour": "acre per hour",
    "aum": "animal-unit month",
    "au": "animal unit",
    "au_days": "animal-unit day",
    "aum_day": "animal-unit month per day",
    "lb_ac_day": "pound per acre and day",
    "days": "day",
    "deg": "degree, clockwise from true north",
    "degree_days": "degree-day, Fahrenheit",
    "f": "degree Fahrenheit",
    "ft": "foot",
    "g": "gram",
    "hours": "hour",
    "in": "inch",
    "lb": "pound",
    "lb_ac": "pound per acre",
    "lb_au_day": "pound per animal unit and day",
    "lb_aum": "pound per animal-unit month",
    "lb_in": "pound per acre and inch",
    "m": "meter",
    "m2": "square meter",
    "mb": "megabyte",
    "mi": "mile",
    "minutes": "minute",
    "months": "month",
    "mph": "mile per hour",
    "oz": "ounce",
    "oz_ac": "ounce per acre",
    "pct": "percent",
    "pixels": "pixel, counted by covered share",
    "row_ft": "foot of drill row",
    "row_ft_sqft": "foot of drill row per square foot",
    "seeds_g": "live seeds per gram of bulk",
    "seeds_lb": "seeds per pound",
    "seeds_per_lb": "seeds per pound",
    "seeds_row_ft": "live seeds per foot of drill row",
    "seeds_sqft": "live seeds per square foot",
    "sqft": "square foot",
    "tons": "short ton of 2,000 pounds",
    "usd": "U.S. dollar",
    "usd_ac": "U.S. dollar per acre",
    "usd_aum": "U.S. dollar per animal-unit month",
    "usd_day": "U.S. dollar per day",
    "usd_head_day": "U.S. dollar per animal and day",
    "usd_hour": "U.S. dollar per hour",
    "usd_lot": "U.S. dollar per lot",
    "usd_mi": "U.S. dollar per mile",
    "usd_per_bulk_lb": "U.S. dollar per pound of bulk",
    "usd_per_pls_lb": "U.S. dollar per pound of pure live seed",
    "usd_per_thousand_seeds": "U.S. dollar per thousand live seeds",
    "years": "year",
}


UNLISTED_UNITS: Final = {"per", "cm", "gal", "h", "ha", "kg", "km", "mm", "tons", "yd"}


UNIT_WORDS: Final = UNLISTED_UNITS | {suffix for suffix in UNIT_BY_SUFFIX if "_" not in suffix}
"""Parts of a name that can only be part of a unit."""


def unit_of(name: str) -> str | None:
    """Unit that the end of a column's or setting's name stands for, or None.

    The longest known suffix wins: ``pls_lb_ac`` is in pounds per acre, not in acres. A suffix with
    another unit before it is part of a compound unit that is not in the list, and stands for
    nothing: ``load_kg_m`` is not in meters.
    """
    parts = name.split("_")
    for start in range(len(parts)):
        suffix = "_".join(parts[start:])
        if suffix in UNIT_BY_SUFFIX:
            is_compound = start > 0 and parts[start - 1] in UNIT_WORDS
            return None if is_compound else UNIT_BY_SUFFIX[suffix]
    return None


ANY_FLOAT = Context(prec=400)
"""Digits enough for the largest number that a computer has, some 1.8e308."""


def half_up(value: float, places: int) -> Decimal:
    """Value rounded once, for display, with ties away from zero.

    Printed tables of the trade round half up; ``round()`` rounds half to even and works on the
    binary fraction (0.175 becomes 0.17). The shortest decimal text of the number is what a reader
    would round by hand, so that is what is rounded here.
    """
    whole = Decimal(repr(float(value)))
    return whole.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP, ANY_FLOAT)


SYMBOL_BY_SUFFIX: Final[dict[str, str]] = {
    "ac_hour": "ac/h",
    "angle_deg": "°",
    "arc_deg": "°",
    "corner_deg": "°",
    "aum": "AUM",
    "au": "AU",
    "au_days": "AU days",
    "aum_day": "AUM/day",
    "deg": "°",
    "f": "°F",
    "hours": "h",
    "lb_ac": "lb/ac",
    "lb_ac_day": "lb/ac a day",
    "lb_au_day": "lb/AU a day",
    "lb_aum": "lb/AUM",
    "lb_in": "lb/ac per in",
    "mb": "MB",
    "oz_ac": "oz/ac",
    "pct": "%",
    "pixels": "pixels",
    "row_ft": "ft of row",
    "row_ft_sqft": "ft per sq ft",
    "seeds_g": "per g",
    "seeds_lb": "per lb",
    "seeds_per_lb": "per lb",
    "seeds_row_ft": "per ft of row",
    "seeds_sqft": "per sq ft",
    "sqft": "sq ft",
    "usd": "$",
    "usd_ac": "$/ac",
    "usd_aum": "$/AUM",
    "usd_day": "$/day",
    "usd_head_day": "$/head a day",
    "usd_hour": "$/h",
    "usd_lot": "$/lot",
    "usd_mi": "$/mi",
    "usd_per_bulk_lb": "$/lb bulk",
    "usd_per_pls_lb": "$/lb PLS",
    "usd_per_thousand_seeds": "$ per 1,000 live seeds",
}
"""Signs of the units that are not written as their suffix is."""


def unit_symbol(name: str) -> str:
    """Sign of the unit that the end of a name stands for; empty where there is none."""
    parts = name.split("_")
    ends = ("_".join(parts[start:]) for start in range(len(parts)))
    suffix = next((end for end in ends if end in UNIT_BY_SUFFIX), "")
    return SYMBOL_BY_SUFFIX.get(suffix, suffix.replace("_", " "))
