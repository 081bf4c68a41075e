"""The plan of years, as drawn in the report: a calendar, a map a year, its sums."""
