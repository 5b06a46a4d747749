"""What the proof asks of the metal: the same is cut, none is met at rapid, no bite is greater."""
