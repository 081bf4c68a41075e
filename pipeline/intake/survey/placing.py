"""Which of the found files are used: the newest of copies, one file for each source, one of units.

A guess about one file is held against the others here: a break that covers the units is none.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import PurePosixPath

import shapely

from pipeline.core.layer import Layer
from pipeline.intake.survey.file_look import DATE_IN_NAME, FoundFile, date_in_name, words_of
from pipeline.intake.survey.role_guesses import UNITS, Guess, guess_role

SEVERAL = ("breaks", "scenes")
"""Sources that a property file may name more than once."""

SAME_PLACE = 0.5
FORMER = frozenset({"copy", "old", "backup", "bak", "archive", "previou", "previous"})
LARGEST_SHARE = 0.5
"""A break or ground left out that covers more of the units than this is something else."""


@dataclass(frozen=True, slots=True)
class Placement:
    """A found file and what it is taken for; ``are_units`` where it holds units of the property.

    The units are used even where they are only likely: all is measured on them.
    """

    found: FoundFile
    guess: Guess
    are_units: bool = False

    @property
    def is_used(self) -> bool:
        """Whether its entry stands in the property file as more than a comment."""
        return self.are_units or (self.guess.role is not None and self.guess.sure == "yes")


def placed(files: Sequence[FoundFile], tables: Mapping[str, Layer]) -> list[Placement]:
    """What each file is taken for, in the order of the files.

    ``tables`` are the tables that a property file may name, as they are declared.
    """
    guesses = {n: guess_role(found, tables) for n, found in enumerate(files)}
    guesses |= {n: _left_out_for(files[kept]) for n, kept in _copies(files).items()}
    units = _chosen_units(files, guesses)
    sisters = [] if units is None else _sisters(files, guesses, units)
    if units is not None:
        guesses |= _held_against_units(files, guesses, units, sisters)
    guesses |= _second_ones(files, guesses)
    of_units = {units, *sisters}
    return [Placement(found, guesses[n], n in of_units) for n, found in enumerate(files)]


def _left_out_for(kept: FoundFile) -> Guess:
    """What is said of the older one of two copies."""
    return Guess(None, f"looks like an older copy of {kept.name}, which is taken", "no")


def _copies(files: Sequence[FoundFile]) -> dict[int, int]:
    """Numbers of files that are older copies, each with that of the newest."""
    groups: dict[tuple[str, ...], list[int]] = {}
    for number, found in enumerate(files):
        if found.content != "unread":
            groups.setdefault(_thing(found), []).append(number)
    older: dict[int, int] = {}
    for numbers in groups.values():
        newest = max(numbers, key=lambda n: newness(files[n]))
        same = [n for n in numbers if n != newest and _share_ground(files[n], files[newest])]
        older |= dict.fromkeys(same, newest)
    return older


def _thing(found: FoundFile) -> tuple[str, ...]:
    """What a file is called without what tells its copies apart; a raster's day is none of that."""
    stem = PurePosixPath(found.path).stem
    if found.content == "raster":
        return (found.content, stem)
    stem = re.sub(r"\(\d+\)", "", DATE_IN_NAME.sub("", stem))
    kept = [word for word in re.findall(r"[^\W_]+", stem.lower()) if word not in FORMER]
    return (found.content, " ".join(kept), found.layer or "")


def _share_ground(first: FoundFile, second: FoundFile) -> bool:
    """Whether two files lie in the same place, as far as that can be told.

    Neighbors of one name in two folders do not: most of the smaller one must lie in the other.
    """
    if first.extent is None or second.extent is None:
        return True
    extents = [shapely.buffer(found.extent, 1.0) for found in (first, second)]
    shared = shapely.intersection(*extents).area
    return bool(shared > SAME_PLACE * min(extent.area for extent in extents))


def newness(found: FoundFile) -> tuple[bool, date, float, int, str]:
    """How new a file is: not put away as old, then the day in its name, then its last change."""
    is_former = bool(FORMER & {*words_of(found.path)})
    day = date_in_name(PurePosixPath(found.path).name) or date.min
    return (not is_former, day, found.changed, -found.path.count("/"), found.path)


def _chosen_units(files: Sequence[FoundFile], guesses: Mapping[int, Guess]) -> int | None:
    """Number of the file of the units: by its name, whether one can name its rows, its rows.

    Where no name says units, it is the likeliest of the polygons that no name says anything of.
    """
    candidates = [n for n, guess in guesses.items() if guess.role == "units"]
    named = [n for n in candidates if guesses[n].sure == "yes"]
    return max(named or candidates, key=lambda n: _fitness(files[n], guesses[n]), default=None)


def _sisters(files: Sequence[FoundFile], guesses: Mapping[int, Guess], units: int) -> list[int]:
    """Numbers of the layers that hold more of the units: drawn alike, side by side, elsewhere.

    They are other layers of the same file or other files of the same folder and kind, have the
    same columns and lie on other ground.
    """
    first = files[units]

    def is_sister(n: int, guess: Guess) -> bool:
        found = files[n]
        return (
            n != units
            and (guess.role, guess.sure) == ("units", guesses[units].sure)
            and _shelf(found) == _shelf(first)
            and [c.name for c in found.columns] == [c.name for c in first.columns]
            and (ground_share(found, first) or 0.0) <= SAME_PLACE
            and found.ground is not None
        )

    return [n for n, guess in guesses.items() if is_sister(n, guess)]


def _shelf(found: FoundFile) -> tuple[str, ...]:
    """What layers that belong together share: the file, or the folder and the kind of file."""
    path = PurePosixPath(found.path)
    return (found.path,) if found.layer else (str(path.parent), path.suffix.lower())


def _held_against_units(
    files: Sequence[FoundFile],
    guesses: Mapping[int, Guess],
    units: int,
    sisters: Sequence[int],
) -> dict[int, Guess]:
    """What is said of the units and the other polygons, once the units are chosen."""
    others = {n: g for n, g in _other_units(files, guesses, units).items() if n not in sisters}
    doubtful = sisters or any(guess.role == "units" for guess in others.values())
    chosen = replace(guesses[units], sure="likely") if doubtful else guesses[units]
    several = {n: _one_of_several(files[n], chosen) for n in ((units, *sisters) if sisters else ())}
    return {units: chosen} | others | _too_large(files, guesses, files[units]) | several


def _one_of_several(found: FoundFile, chosen: Guess) -> Guess:
    """What is said of one of several layers of units: its name stands before theirs."""
    prefix = found.layer or PurePosixPath(found.path).stem
    reason = f"{chosen.reason}; one of several that are drawn alike"
    return replace(chosen, reason=reason, settings={**chosen.settings, "prefix": prefix})


def _fitness(found: FoundFile, guess: Guess) -> tuple[bool, int, int, str]:
    """How well a layer would do for the units."""
    words = words_of(f"{PurePosixPath(found.path).stem} {found.layer or ''}")
    rank = min((UNITS.index(w) for w in words if w in UNITS), default=len(UNITS))
    return (not guess.asks, -rank, found.rows, found.path)


def _other_units(
    files: Sequence[FoundFile], guesses: Mapping[int, Guess], units: int
) -> dict[int, Guess]:
    """What is said of layers that could be the units as well.

    Polygons that no name says anything of are left unplaced where another name says units.
    """
    told = f"could be the units too; {files[units].name} is taken"
    return {
        n: Guess(None, guess.reason, "no")
        if guess.sure != guesses[units].sure
        else replace(guess, sure="likely", reason=f"{guess.reason}; {told}", asks=())
        for n, guess in guesses.items()
        if guess.role == "units" and n != units
    }


def _too_large(
    files: Sequence[FoundFile], guesses: Mapping[int, Guess], units: FoundFile
) -> dict[int, Guess]:
    """What is said of polygons that would stop or leave out more than half of the units' ground."""
    doubtful = {}
    for n, guess in guesses.items():
        found = files[n]
        if guess.role not in ("breaks", "exclusions") or found.content != "polygons":
            continue
        share = ground_share(found, units)
        if share is None:
            reason = f"{guess.reason}; how much of the units it covers can't be told"
            doubtful[n] = replace(guess, sure="likely", reason=reason)
        elif share > LARGEST_SHARE:
            reason = f"{guess.reason}, but it covers {share:.0%} of the units' ground"
            doubtful[n] = Guess(None, reason, "no")
    return doubtful


def ground_share(found: FoundFile, units: FoundFile) -> float | None:
    """Share of the units' ground that a layer of polygons covers, None where one can't be told."""
    if found.ground is None or units.ground is None or not units.ground.area:
        return None
    inside = shapely.intersection(found.ground, units.ground, grid_size=0.1)
    return float(inside.area / units.ground.area)


def _second_ones(files: Sequence[FoundFile], guesses: Mapping[int, Guess]) -> dict[int, Guess]:
    """What is said of all but the newest file of a source that has only one."""
    roles = {g.role for g in guesses.values() if g.role and g.sure == "yes"} - {*SEVERAL}
    left_out: dict[int, Guess] = {}
    for role in sorted(filter(None, roles)):
        numbers = [n for n, g in guesses.items() if g.role == role and g.sure == "yes"]
        newest = max(numbers, key=lambda n: newness(files[n]))
        left_out |= {n: _second(guesses[n], files[newest]) for n in _without(numbers, newest)}
    return left_out


def _without(numbers: Iterable[int], one: int) -> list[int]:
    """The numbers but for one."""
    return [number for number in numbers if number != one]


def _second(guess: Guess, newest: FoundFile) -> Guess:
    """What is said of a file of a source that another file fills."""
    reason = f"{guess.reason}; {newest.name} is newer and taken"
    return replace(guess, sure="likely", reason=reason)
