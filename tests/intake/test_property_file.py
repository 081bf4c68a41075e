"""The property file: every mistake told in plain words, with its line, all at once."""

import re
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.catalog import PropertyFile
from pipeline.core.errors import PropertyFileError
from pipeline.intake.property_file import key_lines, line_of, read_property_file

GOOD = """\
[property]
name = "East Place"
season = 2027

[sources.units]
path = "units.shp"
columns = { unit_id = "UNIT", name = "NAME" }

[[burns]]
block = "North"
units = ["A", "B"]
wind_from_deg = 225
"""


def faults(tmp_path, text):
    path = tmp_path / "east.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    with pytest.raises(PropertyFileError) as caught:
        read_property_file(path, PropertyFile)
    return [str(fault) for fault in caught.value.faults]


def test_good_file_is_read(tmp_path):
    path = tmp_path / "east.toml"
    for encoding in ("utf-8", "utf-8-sig"):
        path.write_text(GOOD, encoding=encoding)
        told = read_property_file(path, PropertyFile)
        assert told.property.name == "East Place"
        assert told.burns[0].units == ("A", "B")
        assert told.burns[0].wind_from_deg == 225.0
    path.write_text(GOOD.replace("\n", "\r\n"), newline="")
    assert read_property_file(path, PropertyFile) == told


MISTAKES = {
    "misspelt key": (
        "season = ",
        "saeson = ",
        r"east\.toml:3: \[property\] saeson: unknown key.*"
        r'did you mean "season"\?',
    ),
    "misspelt section": ("[[burns]]", "[[burn]]", r'east\.toml:9: \[burn\]: .*mean "burns"'),
    "text for a number": ("season = 2027", 'season = "2027"', ":3: .*a whole number without"),
    "number for a text": ('"East Place"', "5", r':2: .*text in quotes; write "5"'),
    "part of a year": ("2027", "2027.5", ":3: .*a whole number"),
    "out of bounds": ("225", "365", r":12: \[\[burns\]\] number 1, wind_from_deg: .*at most 360"),
    "number in quotes": ("225", '"225"', ":12: .*a number without quotes"),
    "true for a number": ("225", "true", ":12: .*a number without quotes"),
    "endless": ("225", "inf", ":12: .*a number"),
    "number among texts": ('["A", "B"]', '["A", 2]', r':11: .*units entry 2: 2; .*write "2"'),
    "one text for a list": ('["A", "B"]', '"A"', r':11: .*a list like \["a", "b"\]'),
    "empty list": ('["A", "B"]', "[]", ":11: .*fill it in"),
    "empty name": ('"East Place"', '" "', ":2: .*fill it in"),
    "endless name": ("East Place", "x" * 200, ":2: .*at most 120 characters"),
    "key missing": ('block = "North"\n', "", r':9: \[\[burns\]\] number 1, block: "block" is not'),
    "section missing": (
        '[property]\nname = "East Place"\nseason = 2027',
        "",
        r"\[property\]: \"property\" is not there.*add \[property\] with name",
    ),
    "list for a section": ("[property]", "[[property]]", ":1: .*a table of its own"),
    "hidden mark": ("East Place", "East\\u202ePlace", r":2: .*hidden characters \(U\+202E\)"),
    "line break in a name": ("East Place", "East\\nPlace", r":2: .*hidden characters \(U\+000A\)"),
    "hidden mark in a key": ("unit_id =", '"unit_id\\u200b" =', r":7: .*hidden characters"),
    "broken line": ("season = 2027", "season = ", r"east\.toml:3: invalid value; expected lines"),
    "key twice": ("season = 2027", "season = 2027\nseason = 2028", r":4: cannot overwrite"),
    "string left open": ('"East Place"', '"East Place', r"east\.toml:2: illegal character"),
}


@pytest.mark.parametrize("kind", MISTAKES)
def test_mistake_is_told_with_its_line(kind, tmp_path):
    old, new, words = MISTAKES[kind]
    assert old in GOOD
    told = faults(tmp_path, GOOD.replace(old, new, 1))
    assert any(re.search(words, line) for line in told), told
    for line in told:
        assert re.search(r": .*; expected .*; ", line), line
        assert not re.search(r"pydantic|https?:|Input should|validation|type=", line), line


@pytest.mark.parametrize("path", ['"' + "x/" * 500 + 'y"', "5"])
def test_one_table_of_units_is_not_called_empty_for_a_fault_in_it(path, tmp_path):
    told = faults(tmp_path, GOOD.replace('"units.shp"', path))
    assert len(told) == 1
    assert ":6: [sources.units] path: " in told[0]


@pytest.mark.parametrize("overlap_ft", ["3.1", "5.99", "6.0", "7"])
def test_passes_that_overlap_by_more_than_half_are_refused(overlap_ft, tmp_path):
    told = faults(tmp_path, f"{GOOD}[mowing]\nmower_width_ft = 6.0\noverlap_ft = {overlap_ft}\n")
    assert len(told) == 1
    assert "east.toml:13: [mowing]" in told[0]
    assert "expected overlap_ft of at most half of mower_width_ft (3 ft)" in told[0]


def test_passes_that_overlap_by_half_are_read(tmp_path):
    path = tmp_path / "east.toml"
    path.write_text(f"{GOOD}[mowing]\nmower_width_ft = 6.0\noverlap_ft = 3.0\n")
    assert read_property_file(path, PropertyFile).mowing.overlap_ft == 3.0


def test_mower_too_narrow_to_be_one_is_refused(tmp_path):
    told = faults(tmp_path, f"{GOOD}[mowing]\nmower_width_ft = 0.1\noverlap_ft = 0\n")
    assert "mower_width_ft = 0.1; expected at least 1" in told[0]


def test_all_mistakes_come_together_in_the_order_of_the_file(tmp_path):
    text = GOOD.replace("season", "saeson").replace("path", "pth").replace("225", "365")
    told = faults(tmp_path, text)
    numbers = [int(n) for line in told for n in re.findall(r"east\.toml:(\d+):", line)]
    assert numbers == sorted(numbers)
    assert {3, 6, 12} <= set(numbers)


def test_second_entry_is_called_so(tmp_path):
    text = GOOD + '[[burns]]\nblock = "South"\nunits = ["C"]\nfuel_height_ft = "4 ft"\n'
    assert "east.toml:16: [[burns]] number 2, fuel_height_ft" in faults(tmp_path, text)[0]


def test_missing_folder_and_binary_files_are_told(tmp_path):
    with pytest.raises(PropertyFileError, match=r"nowhere\.toml: no such file"):
        read_property_file(tmp_path / "nowhere.toml", PropertyFile)
    with pytest.raises(PropertyFileError, match="no such file"):
        read_property_file(tmp_path, PropertyFile)
    assert ":2: a character that is not UTF-8" in faults(tmp_path, b"[property]\nname = '\xe4'")[0]
    assert "larger than 2 MB" in faults(tmp_path, b"#" * 2_100_000)[0]
    assert "brackets" in faults(tmp_path, b"a = " + b"[" * 100_000)[0]


def test_lines_of_keys_wherever_they_are_written():
    text = (
        "# [not]\n"
        "top.inner = 1\n"
        '[a."b.c"]\n'
        'x = """\n'
        "[fake]\n"
        'y = 1"""\n'
        "list = [\n"
        '  "]", # [\n'
        "  2,\n"
        "]\n"
        "[[t]]\n"
        'z = { one = 1, "two" = 2 }\n'
        "[[t]]\n"
        "'z' = 3\n"
        "[t.sub]\n"
        "deep = 1\n"
    )
    tomllib.loads(text)
    lines = key_lines(text)
    assert line_of(("top", "inner"), lines) == 2
    assert line_of(("a", "b.c"), lines) == 3
    assert line_of(("a", "b.c", "x"), lines) == 4
    assert line_of(("a", "b.c", "list", 1), lines) == 7
    assert line_of(("t", 0, "z", "two"), lines) == 12
    assert line_of(("t", 1), lines) == 13
    assert line_of(("t", 1, "z"), lines) == 14
    assert line_of(("t", 1, "sub", "deep"), lines) == 16
    assert line_of(("t", 1, "missing"), lines) == 13
    assert line_of(("nowhere",), lines) is None


@given(st.text())
def test_no_text_breaks_the_reader_of_lines(text):
    assert all(1 <= line <= len(text.splitlines()) for line in key_lines(text).values())


@given(st.binary(max_size=300))
def test_no_bytes_break_the_reader(tmp_path_factory, content):
    path = tmp_path_factory.mktemp("fuzz") / "x.toml"
    path.write_bytes(content)
    with pytest.raises(PropertyFileError):
        read_property_file(path, PropertyFile)


def test_former_name_beside_the_new_one_is_told_as_such(tmp_path):
    told = faults(tmp_path, f"{GOOD}[seed]\ncatch_rows = 3\ndrill_rows = 3\n")
    assert len(told) == 1
    assert re.search(
        r"east\.toml:15: \[seed\] drill_rows: .*another name now; .*catch_rows", told[0]
    )


def test_a_file_saved_as_utf_16_is_read_like_any_other(tmp_path):
    path = tmp_path / "east.toml"
    path.write_text(GOOD, encoding="utf-8")
    told = read_property_file(path, PropertyFile)
    path.write_text(GOOD, encoding="utf-16")
    assert read_property_file(path, PropertyFile) == told


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GOOD + ".".join(["a"] * 50_000) + " = 1\n", "east.toml:13: a key of too many parts"),
        (GOOD.replace("2027", "9" * 5000), "east.toml:3: a number of a hundred digits or more"),
        (GOOD.replace('["A", "B"]', str(["U"] * 20_000).replace("'", '"')), "at most 5000"),
    ],
)
def test_what_no_person_writes_is_refused_in_one_line(tmp_path, text, words):
    (told,) = faults(tmp_path, text)
    assert words in told


def test_lines_are_counted_through_long_texts_and_lists():
    text = 'a = """\n[[x]]\n"""\nb = [ # [\n  "]",\n  1,\n]\n[c]\nd = \'\'\'\nq\n\'\'\'\ne = 1\n'
    assert key_lines(text) == {("a",): 1, ("b",): 4, ("c",): 8, ("c", "d"): 9, ("c", "e"): 12}
