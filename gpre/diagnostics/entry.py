"""What the table of codes holds for each code; `gpre explain CODE` prints it."""

from __future__ import annotations

from dataclasses import dataclass

from gpre.diagnostics.diagnostic import Severity

# why a block that the reader does not understand is no part of what is run
LEFT_ALONE = (
    "What the block does is not known, so it is passed through as it stands, and what depends on "
    "it is left alone."
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One code: its severity, the four texts of its explanation, and what it says of controllers.

    controllers_differ: the finding says that a controller may read the text in another way than
    gpre does, may stop at it, or may do something that gpre cannot tell. An error says so always.
    once: the finding is made once a program, at the first of possibly many places.
    """

    code: str
    severity: Severity
    title: str
    what: str
    why: str
    example: str
    instead: str
    controllers_differ: bool = False
    once: bool = False

    @property
    def doubtful(self) -> bool:
        """Whether a machine may do something else here than gpre takes it to do."""
        return self.controllers_differ or self.severity is Severity.ERROR
