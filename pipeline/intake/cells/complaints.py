"""What is wrong with a cell, and how the faults of many cells of a column are told in few lines."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.core.errors import Fault

Value = str | int | float | bool | date | None


@dataclass(frozen=True, slots=True)
class Complaint:
    """Why a cell cannot be used as it stands, and what to write instead."""

    found: str
    expected: str
    do: str
    is_empty: bool = False

    def fault(self, where: str) -> Fault:
        """The fault of a cell that stands at a place."""
        return Fault(where, self.found, self.expected, self.do)


MOST_SINGLE = 3


def column_faults(
    complaints: Sequence[tuple[int, Complaint]],
    where: Callable[[Sequence[int]], str],
) -> list[Fault]:
    """Faults of one column: each cell's own line, or one line for many of the same kind.

    ``complaints`` have the number of their row; ``where`` says how rows are named.
    """
    by_kind: dict[tuple[str, str], list[tuple[int, Complaint]]] = {}
    for row, complaint in complaints:
        kind = (complaint.expected, "" if complaint.found.startswith('"') else complaint.found)
        by_kind.setdefault(kind, []).append((row, complaint))
    faults = []
    for several in by_kind.values():
        if len(several) <= MOST_SINGLE:
            faults += [(row, complaint.fault(where([row]))) for row, complaint in several]
            continue
        rows, first = [row for row, _ in several], several[0][1]
        different = len({complaint.found for _, complaint in several})
        found = first.found if different == 1 else f"{len(rows)} cells such as {first.found}"
        do = first.do if different == 1 else f"for instance {first.do}"
        faults.append((rows[0], Fault(where(rows), found, first.expected, do)))
    return [fault for _, fault in sorted(faults, key=lambda pair: pair[0])]
