"""Faults of the conflict rules: each in one line, by check and run alike."""

import pytest

from pipeline.core.errors import PipelineError
from pipeline.work.codes import BOUNDED, CODES
from pipeline.work.faults import work_faults
from tests.east_place import PROPERTY, intake, write_east_place
from tests.work.made_plan import plain_frames

HEAD = "code,seriousness,bound,against,who_decides,resolve,source\n"
MINE = '[sources.conflict_rules]\nextra = "mine.csv"\n'


def told(**cells):
    """Faults of the shipped rules, with cells of the rule of one code changed."""
    rules = plain_frames()["conflict_rules"].set_index("code")
    for column, value in cells.items():
        rules.loc["smoke_on_near_place", column] = value
    return [str(fault) for fault in work_faults(rules.reset_index())]


def test_shipped_rules_have_no_fault():
    assert told() == []


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("{figur} ft", 'unknown "{figur}"; expected one of figure, bound, day'),
        ("{figure.real}", 'unknown "{figure.real}"'),
        ("{figure[0]}", 'unknown "{figure[0]}"'),
        ("{} ft", 'unknown "{}"'),
        ("{0} ft", 'unknown "{0}"'),
        ("{figure!r}", '"{figure!r}"; expected decimals'),
        ("{figure:>9999999}", "expected decimals of a figure from 0 to 4"),
        ("{figure:5}", "expected decimals of a figure from 0 to 4"),
        ("{figure:²}", "expected decimals of a figure from 0 to 4"),
        ("{names:2}", "expected decimals"),
        ("{figure ft", "braces without a partner"),
        ("figure} ft", "braces without a partner"),
    ],
)
def test_words_that_cannot_be_filled_in_are_told(words, expected):
    (fault,) = told(against=words)
    assert fault.startswith("[sources.conflict_rules] smoke_on_near_place: ")
    assert expected in fault


def test_words_in_doubled_braces_are_braces():
    assert told(against="{{figure}} {figure:4} {unit}") == []


def test_near_miss_of_a_name_is_named():
    (fault,) = told(against="{figures} ft")
    assert fault.endswith('did you mean "figure"?')


@pytest.mark.parametrize("code", BOUNDED)
def test_rule_that_needs_a_bound_and_has_none_is_told(code):
    rules = plain_frames()["conflict_rules"]
    without = rules.assign(bound=rules["bound"].mask(rules["code"] == code))
    (fault,) = work_faults(without)
    assert fault.where == f"[sources.conflict_rules] {code}"


def test_every_code_without_a_row_is_told():
    rules = plain_frames()["conflict_rules"]
    faults = work_faults(rules[~rules["code"].isin(CODES[:2])])
    assert [fault.found for fault in faults] == [f"no row for {code}" for code in CODES[:2]]


@pytest.fixture
def folder(tmp_path):
    write_east_place(tmp_path)
    return tmp_path


def refused(folder, rows):
    """Faults of a property whose own rules are these."""
    (folder / "mine.csv").write_text(HEAD + rows)
    with pytest.raises(PipelineError) as error:
        intake(folder, PROPERTY + MINE)
    return [str(fault) for fault in error.value.faults]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("smoke_on_moon,know,,x,burn_boss,r,s\n", ("code", "smoke_on_moon")),
        ("gap,grave,,x,burn_boss,r,s\n", ("seriousness", "grave")),
        ("gap,know,,x,neighbor,r,s\n", ("who_decides", "neighbor")),
        ("gap,know,,{feet},burn_boss,r,s\n", ("gap", '"{feet}"')),
        ("gap,know,,x,burn_boss,r,s\n" * 2, ("gap", "stands 2 times")),
    ],
)
def test_fault_of_the_users_own_table_is_one_line(folder, row, words):
    (fault,) = refused(folder, row)
    assert all(word in fault for word in words)
    assert "\n" not in fault


def test_all_faults_of_the_words_are_told_at_once(folder):
    rows = "gap,know,,{feet},burn_boss,r,s\nsmoke_on_near_place,know,,{figur},burn_boss,r,s\n"
    assert len(refused(folder, rows)) == 3


def test_users_own_row_takes_the_place_of_ours(folder):
    (folder / "mine.csv").write_text(HEAD + "gap,off,,mine,landowner,r,me\n")
    rules = intake(folder, PROPERTY + MINE).frames["conflict_rules"].set_index("code")
    assert len(rules) == len(CODES)
    assert rules.loc["gap", "seriousness"] == "off"
    assert rules.loc["gap_downwind", "seriousness"] != "off"


def test_whole_table_of_the_users_takes_the_place_of_ours(folder):
    rows = "".join(f"{code},know,1,mine,landowner,r,me\n" for code in CODES)
    (folder / "mine.csv").write_text(HEAD + rows)
    read = intake(folder, PROPERTY + MINE.replace("extra", "path"))
    assert set(read.frames["conflict_rules"]["against"]) == {"mine"}
