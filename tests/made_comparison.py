"""A comparison in a few lines: burned units, references, other units, a log and earlier years."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness.change import compare_greenness, pool_burns
from pipeline.greenness.settings import GreennessSettings
from tests.made_scenes import readings
from tests.made_season import log_of

DEFAULTS = GreennessSettings()
REFERENCES = [(0.43, 0.50), (0.39, 0.47), (0.45, 0.51), (0.40, 0.46), (0.42, 0.50)]
NO_TREATMENTS = empty(LAYERS["treatment_log"])
M2_PER_AC = 43560 * 0.3048**2


BURNED = (0.41, 0.55)


def comparison(burned=(BURNED,), references=REFERENCES, others=(), after="2026-07-22", **changed):
    """Frames of one comparison; ``changed`` overrides columns of ``zone_changes``.

    Burned units and references are named U0, U1 and on, others, which it does not name, N0 and on.
    """
    pairs = [*burned, *references]
    ids = [f"U{n}" for n in range(len(pairs))]
    roles = ["burned"] * len(burned) + ["reference"] * len(references)
    before, after = pd.Timestamp("2025-07-20"), pd.Timestamp(after)
    comparisons = pd.DataFrame(
        {"comparison": "fire", "before": before, "after": after, "unit_id": ids, "role": roles}
    )
    old, new = np.array(pairs).T
    changes = pd.DataFrame(
        {
            "comparison": "fire",
            "unit_id": ids,
            "before_mean": old,
            "after_mean": new,
            "change": new - old,
            "change_sd": 0.02,
            "pixels": 1600.0,
            "valid_pct": 100.0,
            "full_pixels": 1500,
            "lost_pct": 5.0,
            "pixel_m": 10.0,
            "paired": True,
            "mixed": False,
            "effective_pixels": 12.0,
            "range_m": 200.0,
            "alike_pct": None,
            "range_from": "setting",
            "reason": None,
        }
    ).assign(**changed)
    names = [*ids, *(f"N{n}" for n in range(len(others)))]
    return (
        square_units(names),
        conform(comparisons, LAYERS["comparisons"]),
        conform(changes, LAYERS["zone_changes"]),
        readings(*(row for n, pair in enumerate(others) for row in _of_other(f"N{n}", pair))),
    )


def _of_other(unit_id, pair):
    return zip([unit_id] * 2, ["2025-07-20", "2026-07-22"], pair, strict=True)


def square_units(names):
    """Units of 16 ha, side by side in rows of six."""
    places = [(400 * (n % 6), 400 * (n // 6)) for n in range(len(names))]
    columns = dict.fromkeys(LAYERS["units"].column_names, 0.0)
    columns |= {"unit_id": names, "name": None, "cover": None, "burnable_ac": 160000 / M2_PER_AC}
    shapes = [shapely.box(x, y, x + 400, y + 400) for x, y in places]
    return conform(gpd.GeoDataFrame(columns, geometry=shapes, crs=32614), LAYERS["units"], 32614)


def burns(*rows):
    """Layer ``treatment_log`` of burns: unit and day."""
    return log_of("unit_id start kind", *((*row, "burn") for row in rows))


def compared(
    zone_scenes=None,
    settings=DEFAULTS,
    treatments=NO_TREATMENTS,
    shares=None,
    areas=None,
    change_units=None,
    change_comparisons=None,
    pooled=False,
    **told,
):
    """Layer ``greenness`` of a comparison by unit, or ``burn_effects`` of it."""
    units, comparisons, changes, scenes = comparison(**told)
    units = units if change_units is None else change_units(units)
    comparisons = comparisons if change_comparisons is None else change_comparisons(comparisons)
    scenes = scenes if zone_scenes is None else pd.concat([zone_scenes, scenes])
    shares = empty(LAYERS["burned_shares"]) if shares is None else shares
    areas = empty(LAYERS["burned_areas"], units.crs) if areas is None else areas
    frame = compare_greenness(
        units, comparisons, changes, scenes, shares, areas, treatments, settings
    )
    table = conform(frame, LAYERS["greenness"], units.crs)
    if not pooled:
        return table.set_index("unit_id")
    rows = pool_burns(units, comparisons, changes, scenes, table, treatments, settings)
    return conform(rows, LAYERS["burn_effects"])


def earlier_years(gaps, count=6):
    """Means of U0, which strays by ``gaps`` from its references in July of 2021 and after."""
    rows = [
        (f"U{k}", f"{2021 + n}-07-20", 0.5 + (0.0 if k else gap))
        for n, gap in enumerate(gaps)
        for k in range(count)
    ]
    return readings(*rows)
