"""A plant's name as the seed trade writes it, taken apart: name, variety, what was done to it.

*Source*: names read in seed lists, tags and plant-material notes (NRCS Texas TX-PM-12-02, Kansas
State University's plant lists, a university's mix list); what is to be split off is common
practice.
"""

import re
import unicodedata
from dataclasses import dataclass

from pipeline.core.names import clean_name

QUOTES = "'\"`\u2018\u2019\u201c\u201d\u00b4"
CULTIVAR = re.compile(rf"(?:^|(?<=[\s,(-]))[{QUOTES}]([^{QUOTES}]+)[{QUOTES}]?(?=$|[\s,);])")
IN_BRACKETS = re.compile(r"\(([^()]*)\)?")
LATIN = re.compile(r"[A-Z][a-z]+ [a-z][a-z-]{2,}")
RANK = re.compile(r"\b(?:ssp|subsp|var|f|forma)\.?\s+([a-z][a-z-]+)")
FOOTNOTE = re.compile(r"[*†‡§¹²³⁰-⁹]+$|(?<=[a-z])\d$")
VARIETY_WORDS = re.compile(
    r"[\s,-]+((?:vns|variety not stated|germplasm|ecotype|source[- ]identified|common|native"
    r"|z\d ?[a-z]{2})\b.*)$",
    re.IGNORECASE,
)
PROCESSING = re.compile(
    r"[\s,-]+((?:grain|(?:de)?hulled|debearded|processed|combine[- ]run|burs?|treated|coated"
    r"|inoculated|scarified|cleaned|seeds?|pls|caryopses)(?:[\s,]+(?:grain|(?:de)?hulled|debearded"
    r"|processed|treated|coated|inoculated|scarified|cleaned|seeds?|pls))*)$",
    re.IGNORECASE,
)
DONE_TO_SEED = {
    *("grain", "hulled", "dehulled", "debearded", "processed", "combine run", "bur", "burs"),
    *("treated", "coated", "inoculated", "scarified", "cleaned", "caryopses"),
}
HYBRID = re.compile(r"(?:^|\s)[x×]\s|×")
MANY = re.compile(r"\bspp?\.?$")


@dataclass(frozen=True, slots=True)
class TradeName:
    """The parts of a name: readings of the species in the order to be tried, and what stood by.

    ``done`` is what was done to the seed (hulled, debearded), by which a pound has another number
    of seeds. ``rank`` is a subspecies or variety of the botanists.
    """

    readings: tuple[str, ...]
    variety: str | None = None
    done: str | None = None
    rank: str | None = None


def trade_name(text: str) -> TradeName:
    """Parts of a name as a list, an order or a tag gives it."""
    rest = clean_name(unicodedata.normalize("NFKC", text.replace("×", " × ")))
    rest = FOOTNOTE.sub("", rest).strip()
    if HYBRID.search(rest) or MANY.search(rest):
        return TradeName((rest,))
    variety = done = rank = None
    if quoted := CULTIVAR.search(rest):
        variety = quoted.group(1).strip()
        rest = _joined(rest[: quoted.start()], rest[quoted.end() :])
    bracketed = [inner.strip() for inner in IN_BRACKETS.findall(rest)]
    rest = _joined(IN_BRACKETS.sub(" ", rest))
    others = []
    for inner in bracketed:
        if inner.casefold() in DONE_TO_SEED:
            done = inner
        elif " " in inner and inner[0].isalpha():
            others.append(inner)
    if ranked := RANK.search(rest):
        rank = ranked.group(0)
    if " - " in rest:
        rest, told = (part.strip() for part in rest.split(" - ", 1))
        variety = variety or told
    if found := PROCESSING.search(rest):
        rest, words = rest[: found.start()], found.group(1)
        done = done or (words if words.casefold() not in ("seed", "seeds", "pls") else None)
    plain = [rest]
    if found := VARIETY_WORDS.search(rest):
        variety = variety or found.group(1).strip()
        plain.append(rest[: found.start()])
    readings = [*plain, *map(_turned, plain), *others, *map(_without_author, [*plain, *others])]
    named = dict.fromkeys(_joined(reading) for reading in readings if reading and reading.strip())
    return TradeName(tuple(named), variety, done, rank)


def _joined(*parts: str) -> str:
    """Parts of a name in one, without what separated them from what was cut out."""
    return clean_name(" ".join(part.strip(" ,;-") for part in parts)).strip(" ,;-")


def _turned(name: str) -> str:
    """``Bluestem, Big`` as ``Big Bluestem``.

    A third part, as in ``Grama, Sideoats, Haskell``, is left out.
    """
    kind, *modifiers = (part.strip() for part in name.split(","))
    return f"{modifiers[0]} {kind}" if modifiers else ""


def _without_author(name: str) -> str:
    """Genus and epithet of a Latin name, without its authors and ranks; empty for other names."""
    found = LATIN.match(name)
    return found.group(0) if found and found.end() < len(name) else ""
