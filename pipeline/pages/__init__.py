"""What a person looks at, as text: built from layers alone."""
