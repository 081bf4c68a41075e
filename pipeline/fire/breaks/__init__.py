"""What already stops a fire, and which edges run along it."""
