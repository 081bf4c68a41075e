"""`check` and `run` refuse the same property files in the same words; what passes, finishes."""

import pytest

from pipeline.cli import main
from tests.small_property import small_files, write_small_property

LOT = "90,80,,10,,,9,0.5%,0.5%,81,4,,20"
BROKEN = {
    # file, text in it, what stands there instead, word of the fault
    "grazing on no ground": ("treatments.csv", ",30,1.2,40", ",30,1.2,0", "acres_treated_ac"),
    "growth that ends before it begins": ("green_up.csv", "04-10", "06-10", "green_full"),
    "slope of no factor": ("small.toml", '"steep"', '"sheer"', "sheer"),
    "mix that is nowhere": (
        "small.toml",
        '"dry"\nmethod = "drill"',
        '"wetter"\nmethod = "drill"',
        "wetter",
    ),
    "bag that is nowhere": ("small.toml", '"green bag"', '"red bag"', "red bag"),
    "two areas of a name": (
        "small.toml",
        '"East again"\nunits = ["B"]',
        '"East"\nunits = ["A"]',
        "two entries",
    ),
    "unit twice in an area": (
        "small.toml",
        '"East"\nunits = ["B"]',
        '"East"\nunits = ["B", "B"]',
        "stands twice",
    ),
    "unit in two blocks": (
        "small.toml",
        "[[burns]]",
        '[[burns]]\nblock = "1"\nunits = ["A"]\n[[burns]]',
        "2 blocks",
    ),
    "unit that is nowhere": ("small.toml", 'reference = ["B"]', 'reference = ["Q"]', '"Q"'),
    "preset that is nowhere": ("small.toml", 'preset = "scl"', 'preset = "scll"', "scll"),
    "no table of presets": (
        "small.toml",
        'mask_presets = { path = "mask_presets.csv" }',
        "",
        "mask_presets",
    ),
    "no table of factors": (
        "small.toml",
        'seed_factors = { path = "seed_factors.csv" }',
        "",
        "steep",
    ),
    "no table of bags": ("small.toml", 'seed_bags = { path = "seed_bags.csv" }', "", "green bag"),
    "rate told twice": (
        "mixes.csv",
        "wet,Andropogon gerardii,6,,",
        "wet,Andropogon gerardii,6,100,",
        "exactly one",
    ),
    "no rate": ("mixes.csv", "gerardii,6,", "gerardii,,", "no rate"),
    "seed in bulk": (
        "mixes.csv",
        "wet,Andropogon gerardii,6,,,,",
        "wet,Andropogon gerardii,,,,,9",
        "bulk for seed",
    ),
    "percents that miss 100": ("mixes.csv", ",100,hay", ",90,hay", "add to 90"),
    "set of full rates that is nowhere": ("mixes.csv", ",hay,", ",straw,", "straw"),
    "species twice in a mix": ("mixes.csv", "dry,oats", "dry,Andropogon gerardii", "second time"),
    "species twice in a set": (
        "full_rates.csv",
        "hay,Andropogon gerardii,6,Plains,hay,drill",
        "hay,Andropogon gerardii,6,Plains,hay,drill\nhay,Andropogon gerardii,8,Plains,hay,drill",
        "second time",
    ),
    "more than all seed live": ("seed_lots.csv", LOT, "90,80,,30,,,9,0.5%,0.5%,,4,,20", "110"),
    "parts that miss 100": ("seed_lots.csv", LOT, "90,80,,10,,,7,0.5%,0.5%,81,4,,20", "add to"),
    "stated PLS": ("seed_lots.csv", LOT, "90,80,,10,,,9,0.5%,0.5%,75,4,,20", "75"),
    "two prices": ("seed_lots.csv", LOT, "90,80,,10,,,9,0.5%,0.5%,81,4,5,20", "one price"),
    "two tests of a bag": ("seed_bags.csv", ",90,", ",90,95", "tetrazolium"),
    "species twice in a bag": (
        "seed_bags.csv",
        "green bag,Andropogon gerardii,80,90,",
        "green bag,Andropogon gerardii,80,90,\ngreen bag,Andropogon gerardii,10,90,",
        "second time",
    ),
    "more good seeds than cut": ("harvests.csv", ",20,15,", ",20,25,", "25 good of 20"),
    "half a harvest": ("harvests.csv", ",10,900,20,15,", ",,900,20,15,", "only part"),
    "two estimates of a harvest": ("harvests.csv", ",20,15,", ",20,15,40", "one of the two"),
    "day of green-up": ("green_up.csv", "04-10", "4/10", "4/10"),
    "day of nesting": ("nesting_seasons.csv", "05-15", "15 May", "15 May"),
    "half a limit": ("unit_limits.csv", "05-01,07-15", "05-01,", "both or neither"),
    "rule on nothing": ("season_rules.csv", "carries = yes", "no_such_thing = 1", "no_such_thing"),
    "rule never reached": ("season_rules.csv", "10,carries = yes", "10,", "never reached"),
    "hour of a spreadsheet": ("hourly_weather.csv", "2026-04-14T13:00", "4/14/2026 1 PM", "1 PM"),
    "hour of a time zone": ("hourly_weather.csv", "14T13:00", "14T13:00-05:00", "time zone"),
    "same hour twice": ("hourly_weather.csv", "2026-04-14T13:00", "2026-04-14 14:00", "twice"),
    "year of another age": ("treatments.csv", "2026-06-01", "0206-06-01", "0206-06-01"),
    "year far ahead": ("treatments.csv", "2026-07-15", "9999-12-31", "9999-12-31"),
    "day of sowing far ahead": ("small.toml", "2027-05-20", "9999-05-20", "slip in the year"),
    "more months than a test can be good": ("test_rules.csv", "Iowa,9", "Iowa,200000", "200000"),
    "more seeds than can be counted": ("harvests.csv", ",900,", f",{10**20},", str(10**20)),
    "grazing of no ground": ("treatments.csv", "30,1.2,40", "30,1.2,0", '"0"'),
    "class of cover": ("plants.csv", "Poa pratensis,3", "Poa pratensis,7", '"7"'),
}


def said(command, path, capsys, *words):
    """Exit code of a command, and what it said of faults."""
    code = main([command, str(path), *words])
    return code, [line for line in capsys.readouterr().err.splitlines() if "error: " in line]


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """Folder of the small property; tests put back what they change."""
    folder = tmp_path_factory.mktemp("small")
    write_small_property(folder)
    return folder


def test_the_small_property_itself_is_whole(small, capsys, tmp_path):
    assert said("check", small / "small.toml", capsys) == (0, [])
    assert said("run", small / "small.toml", capsys, "--out", str(tmp_path)) == (0, [])


@pytest.mark.parametrize("kind", BROKEN)
def test_check_and_run_refuse_the_same_in_the_same_words(kind, small, capsys, tmp_path):
    name, text, instead, word = BROKEN[kind]
    whole = small_files()[name]
    assert whole.count(text) == 1
    (small / name).write_text(whole.replace(text, instead))
    try:
        checked = said("check", small / "small.toml", capsys)
        ran = said("run", small / "small.toml", capsys, "--out", str(tmp_path))
    finally:
        (small / name).write_text(whole)
    assert checked == ran
    code, lines = checked
    assert code == 2
    assert len(lines) == 1, lines
    assert word in lines[0]
    assert not list(tmp_path.iterdir())


ODD = {
    "full_rates.csv": ("gerardii,6", "gerardii,0"),
    "harvests.csv": ("likely_pls_pct", "target_seeds_sqft"),
    "seed_lots.csv": ("2026-11-01", "2027-12-31"),
}


def test_what_is_odd_and_possible_finishes(small, capsys, tmp_path):
    files = small_files()
    for name, (text, instead) in ODD.items():
        assert text in files[name]
        odd = files[name].replace(text, instead).replace(",20,15,", ",20,15,0")
        (small / name).write_text(odd)
    try:
        assert said("run", small / "small.toml", capsys, "--out", str(tmp_path)) == (0, [])
    finally:
        write_small_property(small)


def test_faults_of_all_subjects_are_told_at_once(small, capsys):
    kinds = (
        "slope of no factor",
        "hour of a spreadsheet",
        "class of cover",
        "day of green-up",
        "unit in two blocks",
        "preset that is nowhere",
    )
    files = small_files()
    for kind in kinds:
        name, text, instead, _ = BROKEN[kind]
        files[name] = files[name].replace(text, instead)
        (small / name).write_text(files[name])
    try:
        code, lines = said("check", small / "small.toml", capsys)
    finally:
        write_small_property(small)
    assert code == 2
    assert len(lines) == len(kinds)
    assert all(any(BROKEN[kind][3] in line for line in lines) for kind in kinds)
