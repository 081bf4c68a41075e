"""The invented records: clip plots, plant transects, weather of a year and of one spring."""

import csv
import math
import random
from datetime import date, datetime, timedelta
from pathlib import Path

from shapely import Point

from recipe.ground import SEED, plane

# What stood at the end of the 2026 season: likely dry load in pounds per acre, plots clipped.
STANDING = {
    "M1": (3300, 5),
    "F1": (3900, 5),
    "P1": (2500, 6),
    "P2": (2050, 5),
    "P3": (1650, 4),
    "P4": (1500, 5),
    "P5": (850, 5),
    "P6": (1750, 4),
    "P7": (2100, 4),
    "P8": (4300, 5),
    "F2": (2900, 3),
}
BARE_GROUND_PCT = {"P5": 38, "P4": 22, "P2": 14, "F2": 12}  # elsewhere 5
FRAME_SQFT = 1.92  # 1 g in it is about 50 lb/ac
SQFT_PER_AC, G_PER_LB = 43560.0, 453.59237

# Cover in percent along a transect in 2024 and 2026: a unit's own mixture of the usual plants.
PLANTS = {
    "M1": {
        "Andropogon gerardii": (24, 25),
        "Schizachyrium scoparium": (15, 15),
        "Sporobolus heterolepis": (9, 10),
        "Poa pratensis": (10, 8),
        "Dalea purpurea": (4, 4),
        "Ratibida pinnata": (3, 4),
        "Amorpha canescens": (5, 5),
    },
    "F1": {
        "Andropogon gerardii": (30, 29),
        "Sorghastrum nutans": (18, 19),
        "Panicum virgatum": (10, 10),
        "Bromus inermis": (5, 6),
        "Solidago canadensis": (6, 7),
    },
    "P1": {
        "Bromus inermis": (31, 32),
        "Poa pratensis": (17, 16),
        "Andropogon gerardii": (8, 8),
        "Bouteloua curtipendula": (5, 6),
        "Ambrosia psilostachya": (6, 5),
        "Cirsium undulatum": (1, 1),
    },
    "P2": {
        "Bromus inermis": (30, 19),
        "Poa pratensis": (14, 8),
        "Andropogon gerardii": (10, 19),
        "Schizachyrium scoparium": (6, 10),
        "Bouteloua curtipendula": (5, 7),
        "Rudbeckia hirta": (1, 4),
    },
    "P4": {
        "Bromus inermis": (25, 24),
        "Poa pratensis": (20, 17),
        "Andropogon gerardii": (9, 10),
        "Schizachyrium scoparium": (6, 7),
        "Ambrosia psilostachya": (5, 6),
    },
    "P5": {
        "Poa pratensis": (38, 39),
        "Bromus inermis": (12, 12),
        "Bouteloua curtipendula": (6, 5),
        "Sporobolus cryptandrus": (5, 5),
        "Verbena stricta": (3, 4),
    },
    "P8": {
        "Bromus inermis": (28, 37),
        "Poa pratensis": (12, 13),
        "Andropogon gerardii": (14, 10),
        "Schizachyrium scoparium": (7, 5),
        "Solidago canadensis": (5, 8),
    },
}
# What came or went on the three transects of P2 between the two summers, around its burn: cover in
# percent of each transect.
CAME_AND_WENT = {
    "Dalea purpurea": ((0, 0, 0), (1.5, 0, 1)),
    "Liatris punctata": ((0, 0, 0), (0, 0.5, 0)),
    "Melilotus officinalis": ((2, 3.5, 1), (0, 0, 0)),
}
SURVEYS = (date(2024, 6, 18), date(2026, 6, 23))

# What came up in P2 by August after its burn, looked at in frames: mean cover in percent and in how
# many of five frames, in the names that a crew writes down. Where each transect begins was noted.
LATE_SURVEY = date(2026, 8, 11)
LATE_PLANTS = {
    "big bluestem": (21, 5),
    "smooth brome": (15, 5),
    "Kentucky bluegrass": (7, 4),
    "little bluestem": (10, 4),
    "side-oats grama": (8, 4),
    "black-eyed Susan": (4, 3),
    "western ragweed": (2, 2),
    "purple prairie clover": (1, 1),
    "Canada thistle": (1, 1),
    "dandelion": (1, 1),
    "litter": (22, 5),
    "bare ground": (14, 5),
}
# The same meadow in the years in which it came back, on the same transects.
EARLY_SURVEYS = (date(2007, 6, 20), date(2009, 6, 19), date(2013, 6, 21), date(2017, 6, 20))
EARLY_PLANTS = {
    "Bromus inermis": (34, 26, 22, 12),
    "Poa pratensis": (16, 13, 12, 12),
    "Andropogon gerardii": (12, 19, 22, 26),
    "Schizachyrium scoparium": (6, 9, 11, 14),
}
LATE_PLACES = ((-420, -60), (-350, -150), (-290, -230))
FRAMES = 5


def clip_rows() -> list[dict[str, object]]:
    """Clip plots of October 2026; those of F2 were weighed green."""
    chance = random.Random(SEED + 2)
    rows = []
    for unit, (likely, plots) in STANDING.items():
        day = date(2026, 10, 6) + timedelta(days=len(rows) // 12)
        for plot in range(1, plots + 1):
            load = likely * math.exp(chance.gauss(0, 0.18))
            dry_g = load * FRAME_SQFT / SQFT_PER_AC * G_PER_LB
            green = unit == "F2"
            rows.append(
                {
                    "unit_id": unit,
                    "plot": plot,
                    "date": day.isoformat(),
                    "frame_sqft": FRAME_SQFT,
                    "dry_g": "" if green else round(dry_g, 1),
                    "green_g": round(dry_g / 0.58, 1) if green else "",
                    "dry_matter_pct": 58 if green else "",
                    "bare_ground_pct": BARE_GROUND_PCT.get(unit, 5) + chance.randint(-4, 4),
                }
            )
    return rows


def plant_rows() -> list[dict[str, object]]:
    """Canopy cover of each plant on three transects a unit, in two summers."""
    chance = random.Random(SEED + 3)
    rows = []
    for unit, mixture in PLANTS.items():
        for transect in (1, 2, 3):
            for species, covers in mixture.items():
                place = math.exp(chance.gauss(0, 0.16))  # the same transect is rich both times
                for day, cover in zip(SURVEYS, covers, strict=True):
                    seen = max(0.5, round(2 * cover * place * math.exp(chance.gauss(0, 0.05))) / 2)
                    rows.append(
                        {
                            "unit_id": unit,
                            "transect": f"{unit}-{transect}",
                            "date": day.isoformat(),
                            "frame": "",
                            "species": species,
                            "cover_pct": seen,
                            "latitude_deg": "",
                            "longitude_deg": "",
                        }
                    )
    rows += [*early_plant_rows(), *came_and_went_rows(), *late_plant_rows()]
    order = ("unit_id", "date", "transect", "frame", "species")
    return sorted(rows, key=lambda row: tuple(row[name] for name in order))


def early_plant_rows() -> list[dict[str, object]]:
    """Cover on the three transects of M1 in the years before the others were read."""
    return [
        {
            "unit_id": "M1",
            "transect": f"M1-{transect}",
            "date": day.isoformat(),
            "frame": "",
            "species": species,
            "cover_pct": round(2 * cover * richness) / 2,
            "latitude_deg": "",
            "longitude_deg": "",
        }
        for transect, richness in ((1, 0.95), (2, 1.0), (3, 1.05))
        for species, covers in EARLY_PLANTS.items()
        for day, cover in zip(EARLY_SURVEYS, covers, strict=True)
    ]


def came_and_went_rows() -> list[dict[str, object]]:
    """Plants of P2 that only one of the two summers has."""
    return [
        {
            "unit_id": "P2",
            "transect": f"P2-{transect}",
            "date": day.isoformat(),
            "frame": "",
            "species": species,
            "cover_pct": float(cover),
            "latitude_deg": "",
            "longitude_deg": "",
        }
        for species, both in CAME_AND_WENT.items()
        for day, covers in zip(SURVEYS, both, strict=True)
        for transect, cover in enumerate(covers, 1)
        if cover
    ]


def late_plant_rows() -> list[dict[str, object]]:
    """Frames along the three transects of P2 in August, a row for each plant of each frame."""
    chance = random.Random(SEED + 6)
    places = plane([Point(place) for place in LATE_PLACES]).to_crs(4326)
    rows = []
    for transect, place in enumerate(places, 1):
        for species, (cover, frames_with) in LATE_PLANTS.items():
            for frame in chance.sample(range(1, FRAMES + 1), frames_with):
                mean = cover * FRAMES / frames_with * math.exp(chance.gauss(0, 0.12))
                rows.append(
                    {
                        "unit_id": "P2",
                        "transect": f"P2-{transect}",
                        "date": LATE_SURVEY.isoformat(),
                        "frame": str(frame),
                        "species": species,
                        "cover_pct": max(0.5, round(2 * mean) / 2),
                        "latitude_deg": round(place.y, 5),
                        "longitude_deg": round(place.x, 5),
                    }
                )
    return rows


def normal_temperature_f(day_of_year: int) -> float:
    """Mean temperature [°F] of a day in an ordinary year of an invented place at 40° north."""
    return 52.5 - 25.5 * math.cos(2 * math.pi * (day_of_year - 20) / 365.25)


def daily_temperature_rows() -> list[dict[str, object]]:
    """Highest and lowest temperature of each day of 2026."""
    chance = random.Random(SEED + 4)
    rows, spell = [], 0.0
    for offset in range(365):
        day = date(2026, 1, 1) + timedelta(days=offset)
        spell = 0.75 * spell + chance.gauss(0, 5)
        mean, half = normal_temperature_f(offset + 1) + spell, chance.uniform(8, 15)
        rows.append(
            {"date": day.isoformat(), "tmax_f": round(mean + half), "tmin_f": round(mean - half)}
        )
    return rows


def hourly_weather_rows() -> list[dict[str, object]]:
    """Weather of each hour of March, April and May 2026, wind at 20 ft."""
    chance = random.Random(SEED + 5)
    days = {row["date"]: row for row in daily_temperature_rows()}
    rows, turn, gust = [], 180.0, 0.0
    for hour in range(92 * 24):
        time = datetime(2026, 3, 1) + timedelta(hours=hour)
        day = days[time.date().isoformat()]
        sun = math.cos(2 * math.pi * (time.hour - 15) / 24)
        high, low = float(day["tmax_f"]), float(day["tmin_f"])
        temperature = (high + low) / 2 + (high - low) / 2 * sun
        # The dew point follows the night's low; the rule of halves then gives the humidity.
        humidity = min(100.0, 92 * 0.5 ** ((temperature - low) / 20) + chance.gauss(0, 3))
        turn += chance.gauss(0, 12) + 0.03 * (180 - turn)
        gust = 0.85 * gust + chance.gauss(0, 1.6)
        wind = max(0.0, 10 + 4 * sun + gust)
        rows.append(
            {
                "time": time.isoformat(timespec="minutes"),
                "temperature_f": round(temperature),
                "humidity_pct": round(max(8.0, humidity)),
                "wind_mph": round(wind),
                "wind_from_deg": round(turn / 10) * 10 % 360,
            }
        )
    return rows


def write_table(path: Path, rows: list[dict[str, object]]) -> None:
    """A CSV table, lines ended the same on every system."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def write_records(folder: Path) -> None:
    """All computed tables of the sample property."""
    write_table(folder / "clips.csv", clip_rows())
    write_table(folder / "plants.csv", plant_rows())
    write_table(folder / "daily_temperatures.csv", daily_temperature_rows())
    write_table(folder / "hourly_weather.csv", hourly_weather_rows())
