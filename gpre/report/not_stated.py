"""Units, distance mode and plane that nothing states, in two programs that are proved."""

from __future__ import annotations

from gpre.driver.counting import Counted
from gpre.motion.not_stated import CHOICE_NAMES, READINGS, SETTINGS, NotStated


def not_stated_texts(before: Counted, after: Counted) -> list[str]:
    """Say what is not stated in two programs, a sentence each; the proof is made for all of it."""
    result = []
    for setting in SETTINGS:
        old, new = (_of(side, setting) for side in (before, after))
        first = old or new
        if first is None:
            continue
        places = " and ".join(
            f"line {each.first + 1} {which}"
            for each, which in ((old, "before"), (new, "after"))
            if each is not None
        )
        # what the first program has faults in is no way to read it, that of the second may be
        others = dict.fromkeys(code for each in (old, new) if each for code in each.others)
        listed = " or ".join(READINGS[code] for code in (first.taken, *others))
        result.append(
            f"not stated: {CHOICE_NAMES[setting]} (first needed in {places}); the proof must hold "
            f"for {listed}"
        )
    return result


def _of(side: Counted, setting: str) -> NotStated | None:
    found = (each for each in side.not_stated if each.setting == setting and each.matters)
    return next(found, None)
