"""Names as people type them: cleaned, compared, and the nearest one when a name is unknown."""

import difflib
import re
import unicodedata
from collections.abc import Collection, Iterable

BLANKS_LIKE_SPACE = dict.fromkeys(map(ord, "\u00a0\u2007\u202f\u2009\u3000"), " ")


def clean_name(text: str) -> str:
    """Name in Unicode's composed form, without blanks around it or runs of them inside.

    A no-break space counts as a blank, and a byte order mark as nothing.
    """
    if not text.isascii():
        text = unicodedata.normalize("NFC", text).translate(BLANKS_LIKE_SPACE)
    plain = text.replace("\ufeff", "").strip()
    return re.sub(" {2,}", " ", plain) if "  " in plain else plain


def hidden_characters(text: str) -> list[str]:
    """Characters of a name that cannot be seen: control codes, direction marks, line breaks.

    They can make a name look like another one, or break out of the line it is printed in.
    """
    if text.isprintable():
        return []
    return sorted({f"U+{ord(c):04X}" for c in text if not c.isprintable()})


def as_text(name: str) -> str:
    r"""Name of a file as text: a byte that is no UTF-8 becomes ``\xff`` and the like."""
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")


def spelling(name: str) -> str:
    """Name without what people spell differently: case, blanks, hyphens, points."""
    return " ".join(str(name).casefold().replace("-", " ").replace(".", " ").split())


def folded(text: str) -> str:
    """Name as compared when looking for a near miss: case, blanks and marks left out."""
    return "".join(c for c in clean_name(text).casefold() if c.isalnum())


def natural_key(name: str) -> tuple[tuple[int, int, str], ...]:
    """What names are sorted by as people count: North-2 stands before North-10."""
    # Digits are compared by their count first: a number may not be that long.
    parts = [part.lstrip("0") for part in re.findall(r"\d+|\D+", name.casefold())]
    return tuple((1, 0, p) if p and not p.isdecimal() else (0, len(p), p) for p in parts)


def nearest_name(name: str, known: Iterable[str]) -> str | None:
    """The known name that was probably meant, None when none is near."""
    by_fold = {folded(k): k for k in known}
    match = difflib.get_close_matches(folded(name), by_fold, n=1, cutoff=0.6)
    return by_fold[match[0]] if match else None


def listed(names: Iterable[object], most: int = 8) -> str:
    """Names in one line: the first few, and how many more there are."""
    texts = [str(name) for name in names]
    more = f" and {len(texts) - most} more" if len(texts) > most else ""
    return ", ".join(texts[:most]) + more


def parted(cell: str, known: Collection[str]) -> list[str]:
    """Known names that stand in one cell with commas between; one may have a comma of its own."""
    names, parts = [], cell.split(", ")
    while parts:
        lengths = range(len(parts), 1, -1)
        length = next((n for n in lengths if ", ".join(parts[:n]) in known), 1)
        names.append(", ".join(parts[:length]))
        parts = parts[length:]
    return names


def suggestion(name: str, known: Iterable[str]) -> str:
    """What to do about an unknown name: the near one, or the list of known ones."""
    choices = list(known)
    near = nearest_name(name, choices)
    if near is not None:
        return f'did you mean "{near}"?'
    return f"known are {listed(choices, 12)}" if choices else "none are known"
