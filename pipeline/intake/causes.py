"""Causes of findings in reading the sources: what each is called and what to do."""

from pipeline.core.causes import Cause
from pipeline.log.causes import CAUSES as LOG_CAUSES

NO_MORE = "nothing, if it is what you meant"


MENDS = (
    Cause("named_by_row", "ground", "file[|s] with units named by row", NO_MORE),
    Cause("numbered", "ground", "file[|s] with units named with a number", NO_MORE),
    Cause("named_by_columns", "ground", "file[|s] with units named from columns", NO_MORE),
    Cause("dissolved", "ground", "file[|s] with rows of one name joined", NO_MORE),
    Cause("speck_dropped", "ground", "file[|s] with specks left out", NO_MORE, "ac"),
    Cause("speck_kept", "ground", "file[|s] with specks kept as units", NO_MORE, "ac"),
    Cause("duplicate_left_out", "ground", "file[|s] with doubles left out", NO_MORE, "ac"),
    Cause(
        "in_holding_clipped",
        "ground",
        "file[|s] with units taken out of those around them",
        NO_MORE,
        "ac",
    ),
)
"""Causes of what [mend] of the property file asks for, by the names of the mends."""


CAUSES = (
    *MENDS,
    Cause(
        "photos_too_many",
        "reading",
        "folder[|s] with more photos than are looked at",
        "give the photos of photo points a folder of their own",
    ),
    Cause(
        "joined_rows_differ",
        "ground",
        "column[|s] on which rows joined to a unit differ",
        "make the rows agree, if it is needed",
    ),
    Cause(
        "names_alike",
        "ground",
        "group[|s] of units with names easily confused",
        "give one another name",
    ),
    Cause("read_by_unit", "reading", "column[|s] read by [its|their] unit", "nothing, if right"),
    Cause(
        "units_far_apart",
        "ground",
        "group[|s] of units far from the others",
        "mend the coordinate, or give them a property file of their own",
    ),
    Cause(
        "source_far_away",
        "ground",
        "source[|s] away from the units",
        "name the right file, or its true reference system",
    ),
    Cause(
        "cut_off_by_server",
        "ground",
        "map[|s] of which the server left out rows",
        "export the rest too",
    ),
    Cause(
        "picture_short",
        "reading",
        "air photo[|s] that [does|do] not show all units",
        "name a larger one, if it is wanted",
    ),
    Cause("no_overviews", "reading", "large air photo[|s] without overviews", "make them"),
    Cause("no_rows", "ground", "map[|s] without rows", "name the right file"),
    Cause(
        "acres_stated_off",
        "ground",
        "stated figure[|s] of acres off by over 1 %",
        "look up which is right, outline or figure; the measured acres are used",
        "ac",
    ),
    Cause(
        "acres_stated",
        "ground",
        "column[|s] of stated acres",
        "see how they were measured; the measured acres are used",
    ),
    Cause(
        "outline_mended",
        "ground",
        "outline[|s] that had to be mended",
        "look at the place named and draw it again if it is not meant so",
        "ac",
    ),
    Cause("ring_closed", "ground", "ring[|s] that had to be closed", "look at the place named"),
    Cause(
        "rings_rewound",
        "reading",
        "row[|s] with rings wound against the rule",
        "nothing, if its holes are right on the map",
    ),
    Cause("no_shape", "ground", "row[|s] without a shape", "draw it, or delete the row"),
    Cause("row_repeated", "ground", "row[|s] that stand[s|] twice", "delete one of them"),
    Cause("rows_deleted", "ground", "map[|s] with rows marked as deleted", "pack the table"),
    Cause("no_table", "ground", "shapefile[|s] without a table", "get a new copy with its .dbf"),
    Cause("no_index", "reading", "shapefile[|s] without an index", "get a new copy with its .shx"),
    Cause(
        "drawn_in_arcs",
        "ground",
        "map[|s] drawn in arcs",
        "nothing, if straight pieces of 4 degrees do",
    ),
    Cause(
        "view_not_read",
        "reading",
        "view[|s] of a GeoPackage left out",
        "save it as a layer of its own",
    ),
    Cause(
        "open_elsewhere",
        "reading",
        "map[|s] open in another program",
        "save it there, and run again when it is done",
    ),
    Cause(
        "not_utf8",
        "reading",
        "file[|s] not in UTF-8",
        "look whether the word told is right; else save as UTF-8 or say encoding",
    ),
    Cause("old_style", "reading", "file[|s] of an older style of GeoJSON", "nothing, if it fits"),
    Cause(
        "column_unused",
        "reading",
        "column[|s] that nothing is read from",
        "rename the ones that are meant for something",
    ),
    Cause(
        "name_spoiled",
        "reading",
        "name[|s] that a spreadsheet may have changed",
        "format the column as text and type it again",
    ),
    Cause("sum_row", "reading", "row[|s] of sums left out", "nothing, if it is one"),
    Cause(
        "row_beside_ours",
        "supply",
        "species spelled nearly as one of ours",
        "write its name as there if that is meant",
    ),
    Cause(
        "unit_sown_twice",
        "supply",
        "unit[|s] in several seeding areas",
        "take it out of all but one, unless seed is wanted for each",
    ),
    Cause(
        "height_unit",
        "fire",
        "raster[|s] of heights in another unit than told",
        "look up which is right and mend height_unit",
    ),
    *LOG_CAUSES,
)
