"""Numbers from arrays: knows no plan, no table and no file."""
