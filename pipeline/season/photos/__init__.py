"""Photo points: where to stand, what was photographed year by year, what is due."""
