"""The season's work on the report: its first screen, and the words of conflicts and tasks."""
