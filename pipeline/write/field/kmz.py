"""The plan for map programs with its pictures: KML, the map of each block, a legend, the marks.

*Source*: OGC 07-147r2, KML 2.2 (2008), annex C: an archive whose first KML file is the plan.
"""

import zipfile
from pathlib import Path

from pipeline.core.run import Run
from pipeline.pages.field.items import plan_items
from pipeline.pages.field.pictures import block_pictures, legend, mark_picture
from pipeline.write.field.kml import Pictures, kml_text, looks_of

BLOCK_PPI, LEGEND_PPI, MARK_PPI = 108.0, 96.0, 96.0
"""Sharpness of the pictures [pixel per inch]."""


NO_MOMENT = (1980, 1, 1, 0, 0, 0)
"""Time of the files in the archive, so that the same plan gives the same bytes."""


def write_kmz(run: Run, path: Path) -> None:
    """Write the whole plan with its pictures."""
    items = plan_items(run.frames)
    looks = list(dict.fromkeys(look for _, look in looks_of(items)))
    blocks = block_pictures(run.frames)
    files = {"files/legend.png": picture(legend(looks), LEGEND_PPI)}
    of_block, of_mark = {}, {}
    places = {block: drawn.places for block, drawn in blocks.items()}
    for number, (block, drawn) in enumerate(blocks.items(), start=1):
        of_block[block] = f"files/block_{number}.png"
        files[of_block[block]] = picture(drawn.svg, BLOCK_PPI)
    for number, look in enumerate((look for look in looks if look.mark), start=1):
        of_mark[look] = f"files/mark_{number}.png"
        files[of_mark[look]] = picture(mark_picture(look), MARK_PPI, paper="none")
    pictures = Pictures(of_block, of_mark, "files/legend.png", places)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        plan = kml_text(run, items, pictures).encode("utf-8")
        for name, content in {"doc.kml": plan, **files}.items():
            entry = zipfile.ZipInfo(name, NO_MOMENT)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, content)


def picture(svg: str, ppi: float, *, paper: str = "white") -> bytes:
    """A drawing as PNG, on a ground of the color named or on none."""
    import typst

    source = (
        f"#set page(width: auto, height: auto, margin: 0pt, fill: {paper})\n"
        '#image(bytes(sys.inputs.svg), format: "svg")'
    )
    drawn: bytes = typst.compile(source.encode(), format="png", ppi=ppi, sys_inputs={"svg": svg})
    return drawn
