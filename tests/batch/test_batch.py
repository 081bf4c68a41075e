"""A batch as a person meets it: what is wrong with one property is told and ends no other."""

import json
import os

import geopandas as gpd
import pytest

from pipeline.batch.batch import plan_batch
from pipeline.cli import main
from tests.batch.conftest import forties, run_batch
from tests.made_runs import names, tree

FOREIGN = "holds files and no run.json of a run, so no run wrote it"


def test_what_is_wrong_with_one_property_costs_no_other(first_batch):
    root, code, told = first_batch
    assert code == 1
    assert {name: row["state"] for name, row in told.items()} == {
        "Good": "written",
        "Faulty": "failed",
        "Shared": "written",
        "Foreign": "failed",
        "small": "written",
        "gone": "failed",
    }
    assert any('unknown key "seeed"' in reason for reason in told["Faulty"]["reasons"])
    assert FOREIGN in told["Foreign"]["reasons"][0]
    assert "gone.toml: no such file" in told["gone"]["reasons"][0]
    assert told["small"]["stop_and_ask"] >= 1
    assert (root / "out" / told["Shared"]["folder"] / "shared.gpkg").exists()
    assert names(root / "out" / "foreign_2027") == {"photo.jpg"}
    assert not [path for path in (root / "out").iterdir() if ".part" in path.name]


def test_each_failure_is_a_line_and_only_the_folder_is_a_result(copied, capsys):
    places = copied / "places"
    run_batch(copied, places, places / "more.csv", "--allow", places / "Good", "--resume")
    said = capsys.readouterr()
    assert said.out == f"{copied / 'out'}\n"
    failed = [line for line in said.err.splitlines() if line.startswith("error: failed: ")]
    assert len(failed) == 3
    assert "gone.toml (more.csv, row 1): " in failed[-1]
    assert "6 properties: 0 written, 3 kept, 3 failed" in said.err
    assert "Traceback" not in said.err


def test_exit_codes(copied):
    good, small, bad = (copied / "places" / name for name in ("Good", "small", "Faulty"))
    assert run_batch(copied, good, "--resume", "--strict")[0] == 0
    assert run_batch(copied, good, small, "--resume")[0] == 0
    assert run_batch(copied, good, small, "--resume", "--strict")[0] == 4
    assert run_batch(copied, good, small, bad, "--resume", "--strict")[0] == 1
    assert run_batch(copied, bad)[0] == 3


LAYERS = ("properties", "units", "season_costs", "crew_weeks", "seed_weeks")


def test_kept_is_what_would_come_out_the_same(first_batch, copied):
    """All is kept as it stands, with the same figures, though read from what was written."""
    places = copied / "places"
    _, told = run_batch(copied, places, places / "more.csv", "--allow", places / "Good", "--resume")
    assert [row["state"] for row in told.values()].count("kept") == 3
    was, now = (
        {name: file for name, file in tree(root / "out").items() if not name.startswith("batch")}
        for root in (first_batch[0], copied)
    )
    assert was == now
    for name in LAYERS:
        first, second = (
            gpd.read_file(root / "out" / "batch.gpkg", layer=name).drop(
                columns=["state", "reasons"], errors="ignore"
            )
            for root in (first_batch[0], copied)
        )
        assert first.equals(second), name
        assert len(first), name


def spoil_figure(copied):
    """Another figure in a table, of the same length and the same time."""
    mixes = copied / "places" / "small" / "mixes.csv"
    was = mixes.stat()
    mixes.write_text(mixes.read_text().replace(",6,", ",7,"))
    os.utime(mixes, ns=(was.st_atime_ns, was.st_mtime_ns))


def lose_report(copied):
    (copied / "out" / "good_2027" / "report.html").unlink()


def edit_sheet(copied):
    (copied / "out" / "small_place_2027" / "seed_order.csv").write_text("mine")


def other_paper(copied):
    path = copied / "places" / "Good" / "four.toml"
    path.write_text(path.read_text() + '[report]\npaper = "a4"\n')


def other_version(copied):
    path = copied / "out" / "good_2027" / "run.json"
    path.write_text(path.read_text().replace('"geopandas": "', '"geopandas": "0'))


@pytest.mark.parametrize(
    ("change", "kept"),
    [
        (spoil_figure, "Good"),
        (lose_report, "small"),
        (other_paper, "small"),
        (other_version, "small"),
        (edit_sheet, "Good small"),
    ],
)
def test_what_would_come_out_otherwise_is_not_kept(change, kept, copied, monkeypatch):
    """Sources, settings and versions count; what its user edited beside the map is left alone."""
    monkeypatch.setattr("pipeline.batch.job.run_prepared", ask_to_run)
    change(copied)
    _, told = run_batch(copied, copied / "places" / "Good", copied / "places" / "small", "--resume")
    assert [name for name in told if told[name]["state"] == "kept"] == kept.split()


def ask_to_run(*_):
    raise ZeroDivisionError("computed")


@pytest.mark.parametrize(
    ("folders", "places"),
    [
        (("east", "west"), ("lark_hill_2027_east", "lark_hill_2027_west")),
        (("east", "west/east"), ("lark_hill_2027_p_east", "lark_hill_2027_west_east")),
        (("A b", "a-b/c"), ("lark_hill_2027_a_b", "lark_hill_2027_c")),
    ],
)
def test_properties_of_one_name_are_told_apart_by_their_folders(folders, places, tmp_path):
    files = [tmp_path / "p" / folder / "p.toml" for folder in (*folders, "other")]
    names = ["Lark Hill"] * len(folders) + ["Lark Hill 2"]
    for file, name in zip(files, names, strict=True):
        file.parent.mkdir(parents=True)
        file.write_text(f'[property]\nname = "{name}"\nseason = 2027\n[sources]\n')
    jobs = plan_batch(files).jobs
    assert tuple(job.place for job in jobs) == (*places, "lark_hill_2_2027")


def test_each_of_two_properties_of_one_name_has_a_run_folder_of_its_own(tmp_path, monkeypatch):
    written = []
    monkeypatch.setattr("pipeline.batch.job.run_prepared", lambda run, _: written.append(run.place))
    files = [forties(tmp_path / folder, "Lark Hill") for folder in ("east", "west")]
    folders = [file.parent.rename(file.parents[1] / f"at_{n}") for n, file in enumerate(files)]
    run_batch(tmp_path, *folders)
    assert [place.name for place in written] == ["lark_hill_2027_at_0", "lark_hill_2027_at_1"]


def test_properties_of_one_name_that_nothing_tells_apart_are_refused_by_name(tmp_path, capsys):
    first = forties(tmp_path / "p", "Lark Hill")
    second = first.with_name("other.toml")
    second.write_text(first.read_text())
    assert run_batch(tmp_path, first, second) == (2, {})
    said = capsys.readouterr().err
    for word in (str(first), str(second), "lark_hill_2027"):
        assert word in said
    assert not (tmp_path / "out").exists()
    second.write_text(second.read_text().replace("2027", "2028"))
    assert len(plan_batch([first, second]).jobs) == 2


@pytest.mark.parametrize(
    ("name", "content", "word"),
    [
        (".", None, "no property file in it"),
        ("none.toml", None, "no file there"),
        ("t.csv", "a,b\n1,2\n", "its columns are a, b"),
        ("t.csv", "property_file\n", "names no property file"),
    ],
)
def test_path_that_means_nothing_is_a_fault_of_usage(name, content, word, tmp_path, capsys):
    if content is not None:
        (tmp_path / name).write_text(content)
    before = tree(tmp_path)
    assert run_batch(tmp_path, tmp_path / name)[0] == 2
    assert word in capsys.readouterr().err
    assert tree(tmp_path) == before


def test_folder_is_searched_one_level_down_and_only_for_property_files(tmp_path):
    lower = forties(tmp_path / "places", "Lower")
    (lower.parent / "pyproject.toml").write_text("[tool.x]\n")
    forties(tmp_path / "places" / "deep", "Deeper")
    plan = plan_batch([tmp_path / "places", lower])
    assert [job.property_file for job in plan.jobs] == [lower]
    assert plan.out == tmp_path / "places" / "out"
    own = forties(tmp_path, "places/own").rename(tmp_path / "places" / "property.toml")
    assert [job.property_file for job in plan_batch([tmp_path / "places"]).jobs] == [own]


@pytest.mark.parametrize("name", ["batch.json", "batch.html", "batch.gpkg"])
def test_file_of_a_batch_name_that_no_batch_wrote_stays(name, tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / name).write_text('{"mine": 1}')
    good = forties(tmp_path / "p", "Good")
    assert main(["batch", str(good), "--out", str(tmp_path / "out")]) == 2
    assert tree(tmp_path / "out") == {name: b'{"mine": 1}'}


def test_log_in_json_tells_each_property_with_its_state(copied, capsys):
    good, bad = (copied / "places" / name for name in ("Good", "Faulty"))
    run_batch(copied, good, bad, "--resume", "--log-format", "json")
    lines = [json.loads(line) for line in capsys.readouterr().err.splitlines()]
    assert {line["state"] for line in lines if "state" in line} == {"kept", "failed"}
    assert any("reason" in line for line in lines)


def test_fault_of_the_program_is_one_reason_and_not_the_end(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("pipeline.batch.job.run_prepared", ask_to_run)
    forties(tmp_path / "p", "Good")
    code, told = run_batch(tmp_path, tmp_path / "p")
    assert code == 3
    assert told["Good"]["reasons"] == [
        "internal error (ZeroDivisionError: computed); report what --verbose says"
    ]
    assert "Traceback" not in capsys.readouterr().err
