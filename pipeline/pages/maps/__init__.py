"""Maps of the report: the shapes they are drawn of, and the map of the season's work."""
