"""The proof of programs that carry their take-ups: the path of the table is what must hold."""
