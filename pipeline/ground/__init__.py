"""The ground: outlines, acres, exclusions and the lines between units."""
