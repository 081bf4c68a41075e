"""Seed: each made situation raises its clash, near ones do not; all through the real steps."""

import pytest

from pipeline.core.step import called
from pipeline.seed.faults import seed_faults
from pipeline.work.codes import SEED_CODES
from tests.literal_layers import literal_layer
from tests.made_seed import BIG
from tests.work.made_plan import plain_frames
from tests.work.made_stock import PLACE, made_season
from tests.work.seed_situations import SEED, of

SILENT = [(s, near) for s in SEED for near in s.silent]


@pytest.mark.parametrize("situation", SEED, ids=lambda s: s.code)
def test_situation_raises_its_clash(situation):
    rows = made_season("seed_clashes", **situation.raises)["seed_clashes"]
    work_id, unit_id = situation.of
    of_unit = rows["unit_id"].isna() if unit_id is None else rows["unit_id"] == unit_id
    mine = rows[(rows["code"] == situation.code) & (rows["work_id"] == work_id) & of_unit]
    assert len(mine) == 1
    if situation.figure is not None:
        assert mine["figure"].iloc[0] == pytest.approx(situation.figure, rel=1e-3)


@pytest.mark.parametrize(("situation", "near"), SILENT, ids=lambda v: getattr(v, "code", ""))
def test_near_situation_stays_silent(situation, near):
    rows = made_season("seed_clashes", **near)["seed_clashes"]
    assert situation.code not in set(rows["code"])


def test_every_code_has_a_situation():
    assert {situation.code for situation in SEED} == set(SEED_CODES)


def test_clash_becomes_a_conflict_with_its_figures_in_words():
    told = next(s for s in SEED if s.code == "seed_more_than_offered").raises
    conflicts = made_season("conflicts", **told)["conflicts"].set_index("code")
    against = conflicts.loc["seed_more_than_offered", "against"]
    assert against == f"more of {BIG} is needed than its lots have: 160.00 lb PLS more"


def test_share_of_exotics_is_told_with_the_sod():
    plants = [
        {"unit_id": "A", "transect": "1", "date": "2026-06-20", "species": name, "cover_pct": pct}
        for name, pct in (("Bromus inermis", 60.0), (BIG, 40.0))
    ]
    clashes = made_season("seed_clashes", **of(plants=plants))["seed_clashes"]
    names = clashes.set_index("code").loc["sown_unprepared", "names"]
    assert names == "prairie, 60 % of its cover cool-season exotics"


def test_window_that_is_no_day_of_the_year_is_refused():
    windows = plain_frames()["seeding_windows"]
    odd = windows.assign(first_day=windows["first_day"].replace("05-15", "13-01"))
    head = literal_layer("property", [PLACE])
    frames = plain_frames() | {"property": head}
    assert called(seed_faults, frames, {}) == []
    (fault,) = called(seed_faults, frames | {"seeding_windows": odd}, {})
    assert (fault.where, fault.found) == (
        "[sources.seeding_windows] Minnesota, spring",
        "days 13-01 to 06-30",
    )
