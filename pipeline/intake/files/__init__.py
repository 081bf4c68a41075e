"""What a run needs of the disk besides its sources: scratch folders, checksums, changes."""
