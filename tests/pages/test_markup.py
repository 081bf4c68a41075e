"""Pages as text: what a user wrote stays text. Outside source: Python's own HTML parser."""

from html.parser import HTMLParser

from hypothesis import given
from hypothesis import strategies as st

from pipeline.pages.markup import Markup, escaped, isolated, joined, tag


class Reader(HTMLParser):
    """Elements, attributes and text that a browser would see."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.tags, self.attributes, self.words = [], [], []
        self.feed(page)
        self.close()

    def handle_starttag(self, name, attrs):
        self.tags.append(name)
        self.attributes.append(dict(attrs))

    def handle_data(self, data):
        self.words.append(data)


@given(st.text(st.characters(exclude_categories=["Cc", "Cs"])))
def test_any_text_comes_back_as_text_and_nothing_else(words):
    read = Reader(tag("p", words, attributes={"title": words}))
    assert read.tags == ["p"]
    assert read.attributes == [{"title": words.replace("\ufffe", "").replace("\uffff", "")}]
    assert "".join(read.words) == read.attributes[0]["title"]


def test_markup_is_escaped_once():
    inner = tag("b", "R&D")
    assert tag("p", inner) == "<p><b>R&amp;D</b></p>"
    assert joined([inner, "<"]) == "<b>R&amp;D</b>&lt;"
    assert escaped(Markup("&amp;")) == "&amp;"


def test_attributes_that_say_nothing_are_left_out():
    told = {"class": None, "hidden": False, "open": True, "data-n": 0}
    assert tag("g", attributes=told) == '<g open data-n="0"></g>'
    assert tag("meta", attributes={"charset": "utf-8"}) == '<meta charset="utf-8">'


def test_control_characters_are_dropped_and_directions_isolated():
    assert escaped("a\x00b\x1b[31mc") == "ab[31mc"
    assert isolated("مرج") == "\u2068مرج\u2069"
