"""A look into a folder of files: what each could be, for a property file to begin with."""
