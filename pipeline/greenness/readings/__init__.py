"""What is read of the units from pictures and tables, and what is odd about a reading."""
