"""How many examples a test takes: a share of the number that the profile of hypothesis says.

`HYPOTHESIS_PROFILE` names the profile (conftest.py). A test that is quick, or that needs many draws
to meet what it looks for, takes more than one share, a slow one less; none has a number of its own,
so that `soak` makes all of them longer and `dev` all of them shorter.
"""

from __future__ import annotations

from hypothesis import settings


def share(of: float) -> settings:
    """Settings of a property test that takes this share of the profile's number of examples."""
    return settings(max_examples=len(seeds(of)))


def seeds(of: float) -> range:
    """Seeds for programs made by chance: as many as this share of the number, one at least."""
    return range(max(1, round(of * settings.default.max_examples)))
