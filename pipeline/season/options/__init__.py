"""Season options: what may be done on each unit this season, best first, to weigh."""
