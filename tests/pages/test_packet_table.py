"""The packet's tables, cell by cell against the layers, and each page with what is its own.

What should stand in a cell is worked out here from the layer's figure by Python's decimal
arithmetic, to as many decimals as are printed.
"""

from decimal import ROUND_HALF_UP, Decimal

import pandas as pd
import pytest

from pipeline.core.layer import Column, Layer
from pipeline.core.table import Table
from pipeline.pages.packet import packet_pages, packet_table
from pipeline.pages.packet.packet_table import declared_table, words_table
from pipeline.pages.words import CODE_WORDS

STRETCH_FIGURES = {
    "length_ft": {"Feet", "Length ft"},
    "make_bare_ft": {"Make bare"},
    "make_mown_ft": {"Mow"},
    "make_black_ft": {"Burn out"},
    "short_ft": {"Short", "Short by"},
}
"""Headings under which a crew expects a figure of a stretch."""


OF_A_BLOCK = {"strips": ("mow_strips", "strip_id")}
OF_AN_AREA = {
    "boxes": ("seed_boxes", "box"),
    "lots": ("seed_use", "species"),
    "companions": ("seed_companions", "species"),
}
"""Tables of a page, the layer that each is made from and the column that names its rows."""


@pytest.fixture(scope="module")
def filled(sample_layers):
    """Pages of the sample's packet, and each table with the rows and columns it was made from."""
    made = []

    def noted(frame, columns, **options):
        result = words_table(frame, columns, **options)
        made.append((frame, columns, options["wide"], result))
        return result

    with pytest.MonkeyPatch.context() as patch:
        for module in (packet_pages, packet_table):
            patch.setattr(module, "words_table", noted, raising=False)
        pages = packet_pages.packet_pages(sample_layers[0], paper="letter")
    return pages, made


COMPASS = ("bearing_deg",)
"""Columns whose degrees stand with their point of the compass."""


def said(value, words):
    """What a cell should read as, a number to as many decimals as its words have."""
    if pd.isna(value):
        return "–"
    if isinstance(value, pd.Timestamp):
        return f"{value:%Y-%m-%d}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return CODE_WORDS.get(value, value)
    return rounded(value, words)


def rounded(value, words):
    places = len(words.partition(".")[2])
    number = Decimal(str(value)).quantize(Decimal(10) ** -places, ROUND_HALF_UP)
    return f"{number:,f}".replace("-", "−")


def shown(words):
    return words.replace("\u200b", "")


def test_each_cell_is_the_figure_of_its_row_and_column(filled):
    _, made = filled
    assert len(made) > 8
    for frame, columns, wide, table in made:
        names = [
            name
            for place, (_, name, *_) in enumerate(columns)
            if place == 0 or name == wide or frame[name].notna().any()
        ]
        headings = {name: heading for heading, name, *_ in columns}
        assert table["headings"][: len(names)] == [headings[name] for name in names]
        assert len(table["headings"]) == len(names) + table["boxes"]
        assert len(table["rows"]) == len(frame) + table["sums"]
        for cells, row in zip(table["rows"], frame.to_dict("records"), strict=False):
            for words, name in zip(cells, names, strict=True):
                # The name of a plant, or of bare ground, is nobody's code.
                is_name = name == "species" and isinstance(row[name], str)
                expected = row[name] if is_name else said(row[name], words.partition(" (")[0])
                words = words.partition(" (")[0] if name in COMPASS else words
                if name.endswith("year") and isinstance(row[name], int):
                    expected = str(row[name])
                told = shown(words).removeprefix("+")
                assert told.replace(" ", "_") == expected.replace(" ", "_"), name


def test_sums_are_of_unrounded_figures(filled):
    summed = 0
    for frame, columns, wide, table in filled[1]:
        if not table["sums"]:
            continue
        names = [n for _, n, *_ in columns if n == wide or frame[n].notna().any()]
        for words, name in list(zip(table["rows"][-1], names, strict=True))[1:]:
            if words:
                total = sum(Decimal(str(value)) for value in frame[name])
                assert words == rounded(total, words)
                summed += 1
    assert summed > 3


def ids(table):
    """First cells of the rows, the row of sums left out."""
    return [shown(row[0]) for row in table["rows"][: len(table["rows"]) - table["sums"]]]


def natural(names):
    """Names as people count: North-2 before North-10."""
    return sorted(names, key=lambda name: (name.split("-")[:-1], int(name.split("-")[-1])))


def test_a_block_page_lists_what_is_of_that_block_and_nothing_else(filled, sample_layers):
    frames, pages = sample_layers[0], filled[0]["blocks"]
    assert [page["name"] for page in pages] == list(frames["burn_blocks"]["block"])
    assert len(pages) > 1
    for page in pages:
        name = page["name"]
        for key, (layer, column) in OF_A_BLOCK.items():
            frame = frames[layer]
            assert ids(page[key]) == natural(frame.loc[frame["block"] == name, column]), key
        ties = frames["tie_ins"]
        of_block = sorted(ties.loc[ties["block"] == name, "tie_in_id"])
        assert [row[6] for row in page["places"]["rows"] if row[6].startswith("T")] == of_block
        breaks = frames["firebreaks"]
        around = breaks[(breaks["block"] == name) | (breaks["neighbor_block"] == name)]
        assert ids(page["stretches"]) == sorted(around["break_id"])


def test_figures_of_a_stretch_stand_under_their_heading(filled, sample_layers):
    breaks = sample_layers[0]["firebreaks"].set_index("break_id")
    for page in filled[0]["blocks"]:
        table = page["stretches"]
        headings = [" ".join(heading.split()) for heading in table["headings"]]
        for name, expected in STRETCH_FIGURES.items():
            places = [n for n, heading in enumerate(headings) if heading in expected]
            if not places:  # a column of noughts has no room on paper
                assert not (breaks.loc[[row[0] for row in table["rows"]], name] > 0).any(), name
                continue
            (place,) = places
            for row in table["rows"]:
                assert row[place] == said(breaks.loc[row[0], name], row[place]), name
        assert table["keys"] == [breaks.loc[row[0], "status"] for row in table["rows"]]
        assert table["short"] == [breaks.loc[row[0], "short_ft"] > 0 for row in table["rows"]]


def test_an_area_page_lists_what_is_of_that_area_and_nothing_else(filled, sample_layers):
    frames, pages = sample_layers[0], filled[0]["areas"]
    assert [page["name"] for page in pages] == list(frames["seed_areas"]["area"])
    for page in pages:
        for key, (layer, column) in OF_AN_AREA.items():
            frame = frames[layer]
            mine = frame["area"] == page["name"]
            if key == "lots":
                mine &= frame["role"] == "seed"
            own = frame.loc[mine, column]
            assert ids(page[key]) == [CODE_WORDS.get(name, name) for name in own], key


LAYER = Layer(
    "made",
    None,
    "",
    (
        Column("strip", "text", "", heading="Strip"),
        Column("pass_length_ft", "number", "", heading="All passes", places=0),
        Column("hours", "number", "", heading="Time", places=1),
        Column("empty_ft", "number", "", heading="Empty", places=0),
    ),
)
ROWS = pd.DataFrame(
    {
        "strip": ["S1", "W" * 40],
        "pass_length_ft": [1000.5, 2000.0],
        "hours": [0.05, 0.05],
        "empty_ft": [None, None],
    }
)


def made_table(rows, totals=("hours",)):
    table = Table(LAYER, "Made", ("strip", "pass_length_ft", "hours", "empty_ft"), totals)
    return declared_table(table, rows, wide="strip", boxes=("Mown",))


def test_a_declared_table_has_units_in_its_headings_and_boxes_at_its_end():
    made = made_table(ROWS)
    assert made["headings"] == ["Strip", "All passes ft", "Time h", "Mown"]
    assert made["align"] == ["l", "r", "r"]
    assert (made["boxes"], made["wide"], made["sums"]) == (1, 0, True)
    assert made["rows"][0] == ["S1", "1,001", "0.1"]
    assert made["rows"][-1] == ["Sum", "", "0.1"], "two times 0.05 is 0.1, two rounded ones 0.2"


def test_a_long_name_may_be_broken():
    name = made_table(ROWS)["rows"][1][0]
    assert shown(name) == "W" * 40
    assert max(map(len, name.split("\u200b"))) <= 16


def test_a_sum_with_an_unknown_in_it_is_unknown():
    assert made_table(ROWS.assign(hours=[0.05, None]))["rows"][-1] == ["Sum", "", "–"]
