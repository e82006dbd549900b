"""Fields of a form: what was typed, what it is read as, and the row that shows it."""
