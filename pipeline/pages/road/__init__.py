"""The road of recovery and the years of each unit, as drawn in report and packet."""
