"""Nothing that only a program understands reaches a person.

There is no outside source here. The codes are those that the layers declare among their choices;
the words for nothing are those that Python and pandas print for it.
"""

import re
import zipfile
from html.parser import HTMLParser
from xml.etree import ElementTree

import pytest

from pipeline.catalog import LAYERS
from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.pages.words import cell_words
from pipeline.write.field.gpx import write_gpx
from pipeline.write.field.kml import write_kml
from pipeline.write.workbook import write_seed_order_xlsx
from tests.made_report import report

CHOSEN = [
    (layer.name, column, choice)
    for layer in LAYERS.values()
    for column in layer.columns
    for choice in column.choices
]
CODES = {choice for _, _, choice in CHOSEN if "_" in choice}
NOTHING_SPELLED = re.compile(r"\b(?:nan|None|NaN|NaT)\b|<NA>")
UNDERSCORED = re.compile(r"\w*[A-Za-z0-9]_\w+")


class Texts(HTMLParser):
    """Every text of a page that a person may see: cells, sentences, titles of shapes."""

    def __init__(self, page):
        super().__init__()
        self.texts, self.hidden = [], 0
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        self.hidden += tag in ("script", "style")

    def handle_endtag(self, tag):
        self.hidden -= tag in ("script", "style")

    def handle_data(self, data):
        if not self.hidden:
            self.texts.append(data)


def leaves(told):
    """Texts of a structure of dictionaries and lists."""
    if isinstance(told, dict | list):
        for part in told.values() if isinstance(told, dict) else told:
            yield from leaves(part)
    elif isinstance(told, str):
        yield told


def xml_texts(text):
    return list(ElementTree.fromstring(text).itertext())


def of_report(run, folder):
    return Texts(report(run.frames, run.crs)).texts


def of_packet(run, folder):
    return list(leaves(packet_pages(run.frames, paper="letter")))


def of_workbook(run, folder):
    write_seed_order_xlsx(run, folder / "seed_order.xlsx")
    with zipfile.ZipFile(folder / "seed_order.xlsx") as book:
        return xml_texts(book.read("xl/sharedStrings.xml"))


def of_gps(run, folder):
    texts = []
    for name, write in (("lines.gpx", write_gpx), ("lines.kml", write_kml)):
        write(run, folder / name)
        texts += xml_texts((folder / name).read_bytes())
    return texts


@pytest.mark.parametrize("read", [of_report, of_packet, of_workbook, of_gps])
def test_no_code_and_no_spelled_out_nothing_is_printed(read, sample_run, tmp_path):
    texts = read(sample_run, tmp_path)
    assert len(texts) > 50
    printed = {word for text in texts for word in UNDERSCORED.findall(text)}
    settings = sample_run.frames["settings"]
    typed = {w for value in settings["value"].dropna() for w in UNDERSCORED.findall(value)}
    assert printed & CODES - set(settings["setting"]) - typed == set()
    assert [text for text in texts if NOTHING_SPELLED.search(text)] == []


def test_every_code_has_words():
    words = {(layer, choice): cell_words(choice, column) for layer, column, choice in CHOSEN}
    assert {
        k for k, told in words.items() if not told or CODES & set(UNDERSCORED.findall(told))
    } == set()
