"""HTML and SVG as text: whatever comes from a layer is escaped here, once, and never elsewhere."""

import html
from collections.abc import Iterable, Mapping

FIRST_ISOLATE, POP_ISOLATE = "\u2068", "\u2069"


VOID = {"br", "col", "img", "input", "meta"}


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
    end = "" if name in VOID else f"{joined(children)}</{name}>"
    return Markup(f"<{name}{pairs}>{end}")


def joined(children: Iterable[object], between: str = "") -> Markup:
    """Several pieces in a row."""
    return Markup(between.join(map(escaped, children)))


def given(value: object) -> Markup:
    """Text from a layer, kept from turning the direction of the text around it."""
    return tag("bdi", value)


def isolated(value: object) -> str:
    """The same for places that take no elements: attributes and the titles of shapes."""
    return f"{FIRST_ISOLATE}{value}{POP_ISOLATE}"
