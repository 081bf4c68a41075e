"""Planned work through the real steps: each situation raises its conflict, near ones do not."""

import pytest

from pipeline.work.conflicts import NOT_KNOWN
from tests.work.made_plan import made_layers
from tests.work.situations import QUIET, SITUATIONS

RAISED = [(s, n) for n, s in enumerate(SITUATIONS)]
SILENT = [(s, change) for s in SITUATIONS for change in s.silent]


def found(situation, change):
    """Conflicts of the code of a situation, told as changes of the quiet burn."""
    told = QUIET | situation.common | change
    if "settings" in situation.common:
        told["settings"] = situation.common["settings"] | change.get("settings", {})
    rows = made_layers(**told)["conflicts"]
    return rows[rows["code"] == situation.code]


@pytest.mark.parametrize(("situation", "_"), RAISED, ids=lambda v: getattr(v, "code", v))
def test_situation_raises_its_conflict(situation, _):
    rows = found(situation, situation.raises)
    work_id, unit_id = situation.of
    units = rows["unit_id"].isna() if unit_id is None else rows["unit_id"] == unit_id
    mine = rows[(rows["work_id"] == work_id) & units]
    assert len(mine) == 1
    row = mine.iloc[0]
    if situation.figure is not None:
        assert row["figure"] == pytest.approx(
            situation.figure, abs=0.5 if row["figure"] > 1 else 1e-3
        )
    assert NOT_KNOWN not in row["against"].split()
    assert not row.geometry.is_empty


@pytest.mark.parametrize(("situation", "change"), SILENT, ids=lambda v: getattr(v, "code", ""))
def test_near_situation_stays_silent(situation, change):
    rows = found(situation, change)
    work_id, unit_id = situation.of
    mine = rows[rows["work_id"] == work_id]
    if unit_id is not None:
        mine = mine[mine["unit_id"] == unit_id]
    assert mine.empty, mine["against"].to_list()
