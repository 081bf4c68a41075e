"""Conflicts, tasks and costs to draw pages from, for any units: invented, as many as wanted."""

import geopandas as gpd
import pandas as pd

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from tests.literal_layers import literal_layer

AS_OF = pd.Timestamp(2026, 11, 15)

AGAINST = {
    "stop_and_ask": (
        "The unit is under a conservation contract, and no approval in writing was given",
        "ask the contract office in writing before any line is prepared",
        "contract_office",
        "contract_limit",
    ),
    "think_again": (
        "Stock is to be on the unit until the day before the burn: no fuel will be left",
        "take the stock off earlier, or burn another unit",
        "landowner",
        "fuel_taken_before_burn",
    ),
    "know": (
        "A road lies within a mile: smoke may drift onto it when the wind turns",
        "put out signs, and tell the road's keeper",
        "burn_boss",
        "smoke_on_place",
    ),
}
"""For each kind of conflict: what stands against, what resolves it, who decides, its code."""


def planned(units, crs, kinds=("burn",)):
    """Each unit planned for one kind of work, the kinds in turn."""
    rows = [
        {
            "work_id": f"{kinds[n % len(kinds)]}:{name}",
            "unit_id": name,
            "kind": kinds[n % len(kinds)],
            "first_day": "2027-03-20",
            "last_day": "2027-04-10",
            "days_from": "property_file",
            "work_ac": 25.0,
        }
        for n, name in enumerate(units["unit_id"])
    ]
    return literal_layer("planned_work", rows, list(units.geometry), crs)


def conflicts(planned_work, crs, counts):
    """So many conflicts of each kind, ``counts`` in the order of seriousness, unit after unit."""
    rows, shapes = [], []
    for seriousness, count in zip(AGAINST, counts, strict=True):
        against, resolve, decides, code = AGAINST[seriousness]
        for n in range(count):
            work = planned_work.iloc[n % len(planned_work)]
            rows.append(
                {
                    "number": len(rows) + 1,
                    "seriousness": seriousness,
                    "code": code,
                    **{c: work[c] for c in ("work_id", "kind", "unit_id")},
                    **{c: work[c] for c in ("first_day", "last_day")},
                    "against": f"{against} ({n + 1})",
                    "who_decides": decides,
                    "resolve": resolve,
                    "source": "common practice, no source",
                }
            )
            shapes.append(work["geometry"])
    return literal_layer("conflicts", rows, shapes, crs)


def tasks(days, crs, **cells):
    """A task for each of ``days``, counted from the day of the plan; None has no day."""
    rows = [
        {
            "number": n,
            "task_id": f"made {n:04}",
            "kind": "order_seed",
            "area": f"Area {n}",
            "due": None if day is None else AS_OF + pd.Timedelta(days=day),
            "overdue": day is not None and day < 0,
            "amount": 12,
            "amount_unit": "lots",
            "who": "crew",
            **cells,
        }
        for n, day in enumerate(days, start=1)
    ]
    return literal_layer("tasks", rows, [None] * len(rows), crs)


LATE = (-12, -3, 9, 20, 40, 90, 120, None)
"""Days of tasks: two overdue, three in the next eight weeks, two later, one without a day."""


def with_work(frames, crs, *, counts=(3, 2, 2), days=LATE, kinds=("burn",)):
    """The layers with a plan of the season in them: work, conflicts and tasks."""
    work = frames["planned_work"]
    if not len(work):
        work = planned(frames["units"], crs, kinds)
    head = frames["property"].assign(as_of=AS_OF)
    head = conform(head, LAYERS["property"])
    return {
        **frames,
        "property": head,
        "planned_work": gpd.GeoDataFrame(work),
        "conflicts": conflicts(work, crs, counts),
        "tasks": tasks(days, crs),
    }
