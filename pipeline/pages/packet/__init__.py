"""The crew packet: its sheets, their tables, and the map of each block."""
