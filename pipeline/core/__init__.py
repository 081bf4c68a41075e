"""What every subject is built from: layers, settings, units, errors. It knows no subject."""
