"""HTML and SVG as text: whatever comes from a layer is escaped here, once, and never elsewhere."""

import html
from collections.abc import Iterable, Mapping

FIRST_ISOLATE, POP_ISOLATE = "\u2068", "\u2069"


VOID = {"br", "col", "img", "input", "meta"}


ENDS_BY_ITSELF = {"dd", "dt", "li", "td", "th", "tr"}
"""Elements that end where the next one or their parent ends: a long table is a third shorter.

*Source*: HTML Living Standard, 13.1.2.4, Optional tags.
"""


SHAPES = {"circle", "path", "rect", "use"}
"""Elements of drawings that mostly hold nothing, and then end with their own tag."""


UNPRINTABLE = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 127, 0xFFFE, 0xFFFF))


class Markup(str):
    """Text that is markup already and stands as it is."""

    __slots__ = ()


def escaped(value: object) -> Markup:
    """Value as text of an element or attribute: markup stays, all else is made harmless."""
    if isinstance(value, Markup):
        return value
    return Markup(html.escape(str(value).translate(UNPRINTABLE), quote=True))


def tag(name: str, *children: object, attributes: Mapping[str, object] | None = None) -> Markup:
    """One element. An attribute that is None or False is left out, True stands alone."""
    pairs = "".join(
        f" {key}" if value is True else f' {key}="{escaped(value)}"'
        for key, value in (attributes or {}).items()
        if value is not None and value is not False
    )
    if name in VOID:
        return Markup(f"<{name}{pairs}>")
    inside = joined(children)
    if name in SHAPES and not inside:
        return Markup(f"<{name}{pairs}/>")
    end = "" if name in ENDS_BY_ITSELF else f"</{name}>"
    return Markup(f"<{name}{pairs}>{inside}{end}")


def joined(children: Iterable[object], between: str = "") -> Markup:
    """Several pieces in a row."""
    return Markup(between.join(map(escaped, children)))


def given(value: object) -> Markup:
    """Text from a layer, kept from turning the direction of the text around it."""
    return tag("bdi", value)


def isolated(value: object) -> str:
    """The same for places that take no elements: attributes and the titles of shapes."""
    return f"{FIRST_ISOLATE}{value}{POP_ISOLATE}"
