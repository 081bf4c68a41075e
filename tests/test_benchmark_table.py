"""The table of speed is well formed, here and in the README; nothing is timed in a test."""

from pathlib import Path

from tests.benchmarks.cases import Case, exclusions
from tests.benchmarks.table import HEADINGS, machine, markdown, raced

README = Path(__file__).parents[1] / "README.md"


def cells(line):
    """Cells of one line of a Markdown table."""
    assert line.startswith("| ")
    assert line.endswith(" |")
    return line.strip("| ").split(" | ")


def assert_well_formed(lines):
    heads, rule, *rows = lines
    assert cells(heads) == [*HEADINGS]
    assert rule.count("---") == len(HEADINGS)
    for row in map(cells, rows):
        assert len(row) == len(HEADINGS)
        assert all(float(figure) >= 0 for figure in row[1:5])
    assert len({(row[0], row[-1]) for row in map(cells, rows)}) == len(rows)


def test_each_way_takes_its_turn_and_a_row_tells_of_both(tmp_path):
    turns = []
    made = Case("made", lambda: turns.append("ours"), lambda: turns.append("plain"), "a list")
    row = raced(made, 3)
    assert turns == ["ours", "plain"] * 4, "the first turn warms up"
    assert (row[0], row[-1]) == ("made", "a list")
    (tiny,) = exclusions(tmp_path, tiny=True)
    assert_well_formed(list(markdown([row, raced(tiny, 1)])))


def test_table_of_the_readme_is_of_the_command_and_says_the_machine():
    lines = README.read_text("utf-8").splitlines()
    first = lines.index(f"| {' | '.join(HEADINGS)} |")
    rows = [line for line in lines[first:] if line.startswith("|")]
    assert_well_formed(rows[: lines[first:].index("")])
    (told,) = (line for line in lines if line.startswith("Measured on "))
    words = machine().split(", ")
    assert len(told.split(", ")) >= len(words)
    assert "cores" in told
    assert "load" in told
