"""What must stand on every page that a crew or a landowner may hold."""

CAUTION = (
    "Planning arithmetic only: not a burn plan, not a prescription, and no permission to ignite."
)


CAUTIONS: tuple[str, ...] = (
    CAUTION,
    "The local fire authority permits burning or waives a ban; rules differ by state and county. "
    "Tell dispatch and the neighbors.",
    "A qualified burn boss decides on site, with a spot forecast of the day and a test fire.",
    "Landowner and burn boss answer for escaped fire and for smoke.",
    "Ground under a conservation contract or easement: ask its office in writing, and mind the "
    "nesting dates.",
    "Widths are rules of thumb from the source cited in the settings; slope, wind and trees that "
    "burn hot, such as redcedar, override them.",
    "Acres and feet come from the boundaries supplied. Walk every line before the day.",
)
"""*Source*: state statutes and extension guides on prescribed burning agree on these; the wording
is our own."""
