"""Crew packet as a PDF for Letter or A4: tagged, the same bytes for the same layers.

*Source*: ISO 14289-1 (PDF/UA-1), which the typesetter checks while it writes.
"""

import json
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.pages.packet import packet_pages
from pipeline.pages.packet_typst import PACKET_TEMPLATE

if TYPE_CHECKING:
    from pipeline.core.run import Run


def write_packet(run: "Run", path: Path) -> None:
    """Write one page for each burn block and seeding area; long tables run on to a second."""
    pages = packet_pages(run.frames, paper=run.paper)
    path.write_bytes(packet_pdf(json.dumps(pages, ensure_ascii=True)))


def packet_pdf(pages: str) -> bytes:
    """PDF of the pages given as JSON, which the template takes as text and never as markup.

    A name with letters that no font here has cannot stand in an accessible file by the standard;
    it then shows boxes in their place, in a file that is tagged all the same.
    """
    import typst

    try:
        return typst.compile(
            PACKET_TEMPLATE.encode(),
            format="pdf",
            sys_inputs={"packet": pages},
            pdf_standards="ua-1",
        )
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise
    return typst.compile(PACKET_TEMPLATE.encode(), format="pdf", sys_inputs={"packet": pages})
