"""Tasks of asking and telling: permits, notices, contract offices, the wildlife agency."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.names import listed, natural_key
from pipeline.ground.overlays import united
from pipeline.work.layers import ASKING_TASKS
from pipeline.work.settings import TaskSettings
from pipeline.work.tasks.task_rows import (
    TaskRow,
    Work,
    days_before,
    earliest,
    key_part,
    task_frame,
    works_of,
)

Drawn = tuple[TaskRow, shapely.Geometry | None]


ASKED_OF_LIMIT = {
    "contract": ("ask_contract_office", "contract_office"),
    "easement": ("ask_contract_office", "contract_office"),
    "species": ("ask_agency", "wildlife_agency"),
}
"""Task and who is asked, by the limit on a unit."""


def list_asking_tasks(
    planned_work: gpd.GeoDataFrame,
    season_limits: pd.DataFrame,
    smoke_places: gpd.GeoDataFrame,
    settings: TaskSettings,
) -> gpd.GeoDataFrame:
    """Layer ``asking_tasks``: whom to ask or to tell before planned work, and by when."""
    works = [work for work in works_of(planned_work) if work.kind != "rest"]
    grounds = planned_work.drop_duplicates("unit_id").set_index("unit_id").geometry
    burns = [work for work in works if work.kind == "burn"]
    rows = [
        *_permits(burns, settings),
        *_notices(burns, smoke_places, settings),
        *_limit_tasks(works, season_limits, grounds, settings),
    ]
    return task_frame(rows, ASKING_TASKS, planned_work.crs)


def _permits(burns: list[Work], settings: TaskSettings) -> Iterator[Drawn]:
    """The permit of each burn and the notice to those who give it."""
    for work in burns:
        for kind, days, name in (
            ("ask_permit", settings.permit_days, "permit_days"),
            ("give_notice", settings.notice_days, "notice_days"),
        ):
            yield (
                TaskRow(
                    f"{kind}:{work.key}",
                    kind,
                    "fire_authority",
                    f"{name} before the first day planned",
                    (work.key,),
                    unit_id=work.unit_id,
                    block=work.block,
                    due=work.before(days),
                ),
                work.ground,
            )


def _notices(
    burns: list[Work], smoke_places: gpd.GeoDataFrame, settings: TaskSettings
) -> Iterator[Drawn]:
    """The notice to the places within reach of the smoke of each block."""
    for work in burns:
        places = smoke_places[smoke_places["block"] == work.block].sort_values("place_id")
        if places.empty:
            continue
        kinds = places["kind"].fillna("place")
        yield (
            TaskRow(
                f"give_notice:{work.key}:places",
                "give_notice",
                "crew",
                "places within reach of its smoke; notice_days before the first day planned",
                (work.key,),
                block=work.block,
                due=work.before(settings.notice_days),
                amount=float(len(places)),
                amount_unit="places",
                names=listed(f"{k} {n}" for k, n in zip(kinds, places["place_id"], strict=True)),
            ),
            united(places.geometry.to_numpy()),
        )


def _limit_tasks(
    works: list[Work],
    season_limits: pd.DataFrame,
    grounds: gpd.GeoSeries,
    settings: TaskSettings,
) -> Iterator[Drawn]:
    """Limits without an approval on record on units that work is planned on, whatever the days.

    Whether days outside of those it names need an approval is for the office to say.
    """
    asked = season_limits[season_limits["limit"].isin(ASKED_OF_LIMIT)]
    for limit in asked[asked["approval"].isna()].to_dict("records"):
        unit_id = limit["unit_id"]
        met = [work for work in works if unit_id in work.units]
        if not met:
            continue
        kind, who = ASKED_OF_LIMIT[limit["limit"]]
        office = kind == "ask_contract_office"
        days = settings.office_days if office else settings.agency_days
        lead = "office_days" if office else "agency_days"
        yield (
            TaskRow(
                f"{kind}:{key_part(unit_id)}:{limit['number']}",
                kind,
                who,
                f"{limit['limit']} without an approval on record; {lead} before the work",
                tuple(work.key for work in sorted(met, key=lambda w: natural_key(w.key))),
                unit_id=unit_id,
                due=days_before(earliest(work.first for work in met), days),
                names=limit["note"],
            ),
            grounds[unit_id],
        )
