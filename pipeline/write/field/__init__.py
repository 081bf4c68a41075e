"""Files for the field: GPX for receivers, KML and KMZ for map programs, a small GeoPackage."""
