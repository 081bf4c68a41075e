"""One property over its years: the runs of all its seasons, joined."""
