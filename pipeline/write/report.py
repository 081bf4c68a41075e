"""The report as a file."""

from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.pages.report_page import report_page

if TYPE_CHECKING:
    from pipeline.core.run import Run


def write_report(run: "Run", path: Path) -> None:
    """Write ``report.html``: one page that opens without a network. The same layers, same bytes."""
    page = report_page(run.frames, stamp=run.stamp, crs_name=run.crs.name)
    path.write_bytes(page.encode("utf-8"))
