"""From the files of a property to layers: readers, cells, repair, and doubts about a source."""

from pipeline.intake.network import speak_plainly, switch_off

switch_off()
speak_plainly()
