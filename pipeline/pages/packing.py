"""Parts of a long page that stand in it packed, until a reader asks for them.

A property of three hundred units has tables that would make the page too heavy for a phone: packed,
they take a twelfth of the room, and a browser lays out none of them before it is opened.
"""

import base64
import zlib
from collections.abc import Mapping

from pipeline.pages.markup import Markup, tag

STANDS_ELSEWHERE = (
    "Opened by the script of this page. Where a browser runs none, these figures stand in the "
    "GeoPackage and in season.xlsx."
)


def packed(content: Markup) -> str:
    """Content as text that the page's script unpacks: deflated as RFC 1950 says, in base 64."""
    return base64.b64encode(zlib.compress(content.encode(), 9)).decode()


def fold(
    summary: Markup, content: Markup, attributes: Mapping[str, object] | None = None
) -> Markup:
    """A fold that is opened by its summary."""
    return tag("details", tag("summary", summary), content, attributes=attributes)


def packed_fold(
    summary: Markup, content: Markup, attributes: Mapping[str, object] | None = None
) -> Markup:
    """A fold whose content is unpacked when it is opened."""
    note = tag("p", STANDS_ELSEWHERE, attributes={"class": "about"})
    return fold(summary, note, {**(attributes or {}), "data-packed": packed(content)})
