"""The packet as a file: where its maps stand, what lies under them, and their ground."""
