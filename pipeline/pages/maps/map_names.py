"""Room for names and marks on a map: what would lie on another one is moved, shared or left out."""

from collections.abc import Sequence

import numpy as np

Place = tuple[int, int]


CHARACTER_EM = 0.64
"""Width of a letter of a bold sans-serif face, as a share of its height. *Source*: from memory."""


LINE_EM = 1.25


SHIFTS_EM = (0.0, 1.15, -1.15, 2.1)
"""Where a name is tried: in its place, a line lower, a line higher, two lines lower."""


def name_places(
    names: Sequence[str],
    places: Sequence[Place],
    reaches: Sequence[float],
    em: float,
    marks: Sequence[Place],
    mark: float,
) -> list[Place | None]:
    """Place of each name [decimeter], clear of marks and of the names before it; None without one.

    A name moves up or down by its reach at the most, so that it stays on its ground. ``em`` is
    the height of the letters, ``mark`` the side of a mark [both decimeter].
    """
    taken = [(x - mark / 2, y - mark / 2, x + mark / 2, y + mark / 2) for x, y in marks]
    found: list[Place | None] = []
    for name, (x, y), reach in zip(names, places, reaches, strict=True):
        half = em * (CHARACTER_EM * len(name) + 0.4) / 2
        clear = None
        for shift in SHIFTS_EM:
            if abs(shift) * em > reach:
                continue
            line = y + shift * em
            box = (x - half, line - em, x + half, line + em * (LINE_EM - 1))
            if not _meets(box, taken):
                taken.append(box)
                clear = (x, round(line))
                break
        found.append(clear)
    return found


def _meets(box: tuple[float, ...], taken: Sequence[tuple[float, ...]]) -> bool:
    """Whether a box lies on one that is taken."""
    if not taken:
        return False
    west, top, east, foot = np.array(taken).T
    return bool(((west < box[2]) & (east > box[0]) & (top < box[3]) & (foot > box[1])).any())


def shared_places(places: Sequence[Place], apart: tuple[float, float]) -> list[int]:
    """For each place the number of the one whose mark it shares: the first one too near to it.

    Two marks have ``apart`` [decimeter], across or down, between their middles at the least.
    """
    at = np.array(places, dtype=float).reshape(-1, 2)
    shared = np.full(len(at), -1)
    for number in range(len(at)):
        if shared[number] < 0:
            near = (np.abs(at - at[number]) < apart).all(axis=1)
            shared[near & (shared < 0)] = number
    return [int(number) for number in shared]
