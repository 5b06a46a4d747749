"""The stock as a height field, and what each tool takes from it, move by move."""
