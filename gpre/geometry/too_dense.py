"""When there is too much of one thing in one place to look at all of it."""


class CrowdedError(Exception):
    """Looking at all moves would take too long: they lie over one another, or have no end."""
