"""The plan as things with a place, for GPS receivers and map programs in the field."""
