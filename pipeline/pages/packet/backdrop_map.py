"""An air photo laid under a map that is drawn already."""

from base64 import b64encode
from typing import Any

from pipeline.pages.markup import tag
from pipeline.pages.packet.packet_table import name_words


def with_backdrop(drawn: dict[str, Any], jpeg: bytes, name: str) -> dict[str, Any]:
    """A map as ``map_words`` made it, with the photo of that name in its frame, under all else."""
    frame = drawn["frame"]
    attributes = {
        "x": frame["left_pt"],
        "y": frame["top_pt"],
        "width": frame["width_pt"],
        "height": frame["height_pt"],
        "preserveAspectRatio": "none",
        "href": f"data:image/jpeg;base64,{b64encode(jpeg).decode()}",
    }
    head, _, rest = drawn["svg"].partition(">")
    told = f"Under the map: air photo {name_words(name)}, grayed; no figure rests on it."
    note = " ".join(filter(None, (drawn.get("note"), told)))
    return drawn | {"svg": f"{head}>{tag('image', attributes=attributes)}{rest}", "note": note}
