"""The years ahead: a plan of burns, grazing and rest that land, herd and crew can carry."""
