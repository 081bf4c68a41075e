"""Words for the codes of greenness: each code has its own, with the figures of its row.

The sentences are the program's own; what is held is that none lacks words and that each tells the
figure that stands in its row.
"""

import pandas as pd
import pytest

from pipeline.greenness import change_columns, columns
from pipeline.pages.greenness_words import (
    caution_words,
    greenness_settings,
    index_caution_words,
    index_reason_words,
    index_verdict_words,
    scene_reason_words,
    share_caution_words,
    share_verdict_words,
    verdict_words,
    with_greenness_words,
)
from tests.literal_layers import literal_layer
from tests.made_report import empty_layers

SETTINGS = greenness_settings(literal_layer("settings"))
CHANGE = {
    "comparison": "fire",
    "unit_id": "P1",
    "role": "burned",
    "before": pd.Timestamp("2025-07-20"),
    "after": pd.Timestamp("2026-07-22"),
    "before_last_day": pd.Timestamp("2025-08-04"),
    "after_last_day": pd.Timestamp("2026-07-22"),
    "noise_floor": 0.02,
    "references": 5,
    "burned_pct": 22.4,
    "carrying_reference": "P7",
    "confounded_by": None,
    "valid_pct": 63.5,
    "full_pixels": 6,
    "lost_pct": 71.2,
    "season_gap_days": 9,
    "before_gap": -0.118,
    "other_burn": pd.Timestamp("2026-04-10"),
    "other_work": "mow 2026-07-10",
    "reason": None,
    "caution": None,
}
SHARE = {
    "unit_id": "P1",
    "before_days": 35,
    "after_days": 14,
    "composites_near": False,
    "burned_between": "2025-07-20 to 2026-07-20",
    "burned_pct": 61.5,
    "low_pct": 58.0,
    "high_pct": 66.0,
    "valid_pct": 31.0,
    "other_work": "mow 2026-04-16",
    "unclear_masks": "a.tif, b.tif",
    "caution": None,
}
INDEX = {
    "unit_id": "P1",
    "role": "burned",
    "noise_floor": 0.041,
    "season_gap_days": 10,
    "before_gap": 0.182,
    "burns": "burn 2026-04-14; burn 2027-04-10",
    "other_work": "graze 2025-05-01",
    "years_without_index": "2025, 2026",
    "burned_from": pd.Timestamp("2025-08-05"),
    "burned_until": pd.Timestamp("2025-08-05"),
    "reason": None,
    "caution": None,
}
SPOILED = {("P1", "2026"): INDEX | {"reason": "little_green_up"}}


def change(**cells):
    return verdict_words(CHANGE | cells, SETTINGS)


def index_change(**cells):
    return index_verdict_words(INDEX | cells, SPOILED, SETTINGS)


def assert_each_has_words_of_its_own(said):
    assert all(said)
    assert len(set(said)) == len(said)
    assert not any("_" in words for words in said)
    assert not any("nan" in words or "None" in words or "NaT" in words for words in said)


def test_every_code_has_words_of_its_own():
    verdicts = [v for v in change_columns.CHANGE_VERDICTS if v != "cannot_judge"]
    reasons = [change(verdict="cannot_judge", reason=r) for r in change_columns.CHANGE_REASONS]
    assert_each_has_words_of_its_own([*(change(verdict=v) for v in verdicts), *reasons])
    causes = [change(verdict="confounded", confounded_by=c) for c in change_columns.CONFOUNDERS]
    assert_each_has_words_of_its_own(causes)
    cautions = [
        caution_words(CHANGE | {"caution": c}, SETTINGS) for c in change_columns.CHANGE_CAUTIONS
    ]
    assert_each_has_words_of_its_own(cautions)
    shares = [share_verdict_words(SHARE | {"verdict": v}, SETTINGS) for v in columns.SHARE_VERDICTS]
    assert_each_has_words_of_its_own(shares)
    cautions = [share_caution_words(SHARE | {"caution": c}) for c in columns.SHARE_CAUTIONS]
    assert_each_has_words_of_its_own(cautions)
    scenes = [scene_reason_words(CHANGE | {"reason": r}, SETTINGS) for r in columns.ZONE_REASONS]
    assert_each_has_words_of_its_own(scenes)
    years = [index_reason_words(INDEX | {"reason": r}) for r in columns.INDEX_REASONS]
    assert_each_has_words_of_its_own(years)
    verdicts = [v for v in columns.INDEX_CHANGE_VERDICTS if v != "cannot_judge"]
    reasons = [index_change(verdict="cannot_judge", reason=r) for r in columns.INDEX_CHANGE_REASONS]
    assert_each_has_words_of_its_own([*(index_change(verdict=v) for v in verdicts), *reasons])
    cautions = [index_caution_words(INDEX | {"caution": c}) for c in columns.INDEX_CHANGE_CAUTIONS]
    assert_each_has_words_of_its_own(cautions)


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"verdict": "greener"}, "greener than unburned ground explains"),
        ({"verdict": "less_green", "role": "reference"}, "reference unit: less green than "),
        ({"verdict": "confounded", "confounded_by": "composite"}, "are made of several days"),
        ({"verdict": "below_noise"}, "noise of the pictures (0.02)"),
        ({"verdict": "no_interval"}, "fewer than 3 usable reference units"),
        ({"verdict": "seasonal"}, "not a change after the burn: the pictures are 9 days apart"),
        ({"reason": "too_narrow"}, "cannot be judged: too small or too narrow: 71 percent"),
        ({"reason": "too_few_pixels"}, "6 whole pixels, 8 are needed"),
        ({"reason": "too_little_usable"}, "only 64 percent of it has usable pixels"),
        ({"reason": "no_scene_after"}, "no scene of 2026-07-22"),
        ({"reason": "no_scenes"}, "no scene of 2025-07-20 and 2026-07-22"),
        ({"reason": "burn_in_composite_before"}, "of 2025-07-20 to 2025-08-04, is made of days"),
        ({"reason": "burn_on_day_after"}, "it burned on the day of the picture after, 2026-07-22"),
        ({"reason": "little_burned"}, "only 22 percent of it burned"),
        ({"reason": "reference_burned"}, "burned on 2026-04-10: it is no unburned ground"),
    ],
)
def test_verdict_tells_the_figures_of_its_row(cells, words):
    assert words in change(**{"verdict": "cannot_judge"} | cells)


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("composite", "best pixels of 2025-07-20 to 2025-08-04: the burn must not"),
        ("burned_before", "it had burned on 2026-04-10, within a year"),
        (
            "cloud_before",
            "gained over 0.3 more than every other unit: cloud or haze on 2025-07-20?",
        ),
        ("cloud_after", "lost over 0.3 more than every other unit: cloud or haze on 2026-07-22?"),
        ("part_usable", "only 64 percent of the unit"),
        (
            "unlike_before",
            "its NDVI before was 0.118 below the references': a low one tends to rise",
        ),
        ("carried_by_one", "without P7 the references"),
    ],
)
def test_caution_tells_the_figures_of_its_row(code, words):
    assert words in caution_words(CHANGE | {"caution": code}, SETTINGS)


def test_several_cautions_are_one_sentence_and_none_is_none():
    words = caution_words(CHANGE | {"caution": "season_gap, unpaired"}, SETTINGS)
    assert words == (
        "the pictures are 9 days apart in the course of the year; the pictures have different "
        "pixels, so each mean rests on its own"
    )
    assert caution_words(CHANGE, SETTINGS) is None


def test_burned_share_or_what_it_needs():
    said = {
        v: share_verdict_words(SHARE | {"verdict": v}, SETTINGS) for v in columns.SHARE_VERDICTS
    }
    assert said["measured"] == "about 62 percent burned"
    assert said["no_picture_before"] == (
        "cannot tell: needs a reflectance picture, one from at most 30 days before the burn (the "
        "nearest is 35 days before); NDVI alone does not show what burned"
    )
    assert "2025-07-20 to 2026-07-20" in said["no_day"]
    none = {"verdict": "no_pictures", "before_days": pd.NA, "composites_near": True}
    words = share_verdict_words(SHARE | none, SETTINGS)
    assert "before the burn (there is none) and one from at most 30 days after" in words
    assert "composites of several days are near but hide a burn" in words
    words = share_caution_words(SHARE | {"caution": "wide_bounds, mask_unclear"})
    assert words.startswith("58 to 66 percent, if pixels without data")
    assert "rule for a.tif, b.tif does not say" in words


def test_change_of_the_index_tells_which_years_are_spoiled():
    words = index_change(verdict="cannot_judge", reason="no_year_after")
    assert words == (
        "cannot be judged: no usable early and midsummer picture of a year after the burn (2026: "
        "too little green-up to tell)"
    )
    words = index_change(verdict="cannot_judge", reason="burned_between", role="reference")
    assert words == "cannot be judged: burned on 2025-08-05"
    unknown = {"burned_until": pd.Timestamp("2026-04-10"), "reason": "burned"}
    assert index_reason_words(INDEX | unknown).startswith(
        "burned some day from 2025-08-05 to 2026-04-10: its pictures"
    )
    assert "noise of the pictures (0.041)" in index_change(verdict="below_noise")


def test_settings_of_the_run_are_told_and_not_the_defaults():
    row = {"section": "greenness", "setting": "least_references", "value": "4", "unit": None}
    row |= {"origin": "property_file", "meaning": "m", "reference": "r"}
    settings = greenness_settings(literal_layer("settings", [row]))
    assert "fewer than 4 usable" in verdict_words(CHANGE | {"verdict": "no_interval"}, settings)


def test_layers_get_sentences_in_the_place_of_codes():
    frames = empty_layers(32614)
    frames["burned_shares"] = literal_layer("burned_shares", [SHARE | {"verdict": "too_small"}])
    worded = with_greenness_words(frames)
    assert worded["burned_shares"]["verdict"][0].startswith("cannot tell: too small")
    assert worded["burned_shares"]["caution"][0] is None
    assert worded["greenness"].empty
    assert frames["burned_shares"]["verdict"][0] == "too_small", "the layer is left as it is"
