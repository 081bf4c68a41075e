"""The report and the crew packet as files: the same bytes for the same layers.

*Source*: ISO 14289-1 (PDF/UA-1), which the typesetter checks while it writes the packet.
"""

import json
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from pipeline.core.run import Run
from pipeline.pages.handouts import burn_pages, owner_pages
from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.pages.report_page import report_page
from pipeline.write.geospatial_pdf import geospatial_pdf
from pipeline.write.packet_backdrop import lay_backdrop
from pipeline.write.packet_maps import MAP_PLACES, placed_maps


def beside(name: str) -> str:
    """Text of a file that comes with the program and lies beside this module."""
    return files("pipeline.write").joinpath(name).read_text(encoding="utf-8")


def write_report(run: Run, path: Path) -> None:
    """Write ``report.html``: one page that opens without a network."""
    page = report_page(
        run.frames,
        stamp=run.stamp,
        crs_name=run.crs.name,
        style=beside("report.css"),
        script=report_script(),
    )
    path.write_bytes(page.encode("utf-8"))


SCRIPTS = ("report_packs.js", "report.js", "report_tables.js", "report_paper.js")


def report_script() -> str:
    """The script of the report: what unpacks, its map, its tables, its paper."""
    return "".join(map(beside, SCRIPTS))


def write_packet(run: Run, path: Path) -> None:
    """Write the season's sheets, one for each burn block and seeding area, and that of the rest."""
    pages = lay_backdrop(packet_pages(run.frames, paper=run.paper, stamp=run.stamp), run)
    text = json.dumps(pages, ensure_ascii=True)
    pdf, told = typeset(text, tagged=table_rows(pages) <= MOST_TAGGED_ROWS)
    path.write_bytes(geospatial_pdf(pdf, placed_maps(told, pages), run.crs))


def write_owner_pages(run: Run, path: Path) -> None:
    """Write ``owners.pdf``: a page for each owner of the land."""
    pages = owner_pages(run.frames, paper=run.paper)
    path.write_bytes(packet_pdf(json.dumps(pages, ensure_ascii=True), template="handout.typ"))


def write_burn_pages(run: Run, path: Path) -> None:
    """Write ``burn_reports.pdf``: a page for each burn of the newest year that has one."""
    pages = burn_pages(run.frames, paper=run.paper)
    path.write_bytes(packet_pdf(json.dumps(pages, ensure_ascii=True), template="handout.typ"))


MOST_TAGGED_ROWS = 2000
"""Rows of tables in a tagged packet: packed, the tags of one take 0.2 kB, but those of 8,000 take
the typesetter seconds and 16 MB on the way. A longer packet has none; the report has all of its
tables, and is read aloud well."""


def table_rows(pages: dict[str, Any]) -> int:
    """Rows of all tables and lists of the packet."""
    ends = [pages["season_sheet"] or {}, pages["other"] or {}]
    sheets = [*ends, *pages["blocks"], *pages["areas"]]
    seen = [table for _, table, _ in (pages["records"] or {}).get("tables", ())]
    tables = (table for sheet in sheets for table in sheet.values() if isinstance(table, dict))
    groups = (group for sheet in sheets for _, group in sheet.get("notes", ()))
    lists = [*(sheet.get("stops", ()) for sheet in sheets), *groups]
    told = [*tables, *seen]
    return sum(len(table.get("rows", ())) for table in told) + sum(map(len, lists))


def packet_pdf(pages: str, *, tagged: bool = True, template: str = "packet.typ") -> bytes:
    """PDF of the pages given as JSON."""
    return typeset(pages, tagged=tagged, template=template)[0]


def typeset(pages: str, *, tagged: bool = True, template: str = "packet.typ") -> tuple[bytes, str]:
    """PDF of the pages given as JSON, which the template takes as text and never as markup.

    Beside it, what the template tells of where each map came to stand: the pages are laid out
    once for both. A very long packet is not ``tagged``, to stay small. A name with letters that no
    font here has cannot stand in an accessible file by the standard; it then shows boxes in their
    place, in a file that is tagged all the same.
    """
    import typst

    with as_file(files("pipeline.write").joinpath(template)) as path:
        compiler: Any = typst.Compiler(str(path), sys_inputs={"packet": pages})
        told = compiler.query(MAP_PLACES, field="value")
        if not tagged:
            return compiler.compile(format="pdf", pdf_tags=False), told
        try:
            return compiler.compile(format="pdf", pdf_standards="ua-1"), told
        except typst.TypstError as error:
            if "could not be displayed" not in str(error):
                raise
        return compiler.compile(format="pdf"), told
