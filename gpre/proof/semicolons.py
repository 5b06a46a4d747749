"""No new `;` where some controllers would end the block.

The standard knows brackets alone as comments (NISTIR 6556, 3.3.4). Many controllers leave out what
comes after a `;`; some end the block there and read on, brackets or not (from memory). A program
that has such comments runs on a controller that takes them. In one that has none a new `;` is
refused, and in any program one within brackets with words after it in the block.
"""

from __future__ import annotations

from gpre.program.comments import GAP, find_comments
from gpre.proof.proof import Obligation
from gpre.proof.side import Pair


def new_semicolons(pair: Pair) -> Obligation | None:
    """Return what to say of a new `;`, or None."""
    source = pair.after.program.source
    if b";" not in bytes(source.data):
        return None
    taken = any(_semicolons(text)[0] for text in pair.before.program.source.blocks())
    texts = source.blocks()
    for hunk in pair.blocks.hunks:
        for block in range(hunk.after, hunk.after_end):
            begins, within = _semicolons(texts[block])
            if within or (begins and not taken):
                what = "`;` within brackets" if within else "the first program has no `;`"
                return Obligation(
                    "readable",
                    holds=False,
                    figure=f"{what}, and some controllers end the block there: "
                    + " ".join(source.line_text(block + 1).split())[:60],
                    after=block,
                )
    return None


def _semicolons(text: bytes) -> tuple[bool, bool]:
    """Return whether a `;` begins a comment, and whether one stands in brackets before words."""
    if b";" not in text:
        return False, False
    found = find_comments(text)
    begins = any(text[start : start + 1] == b";" for start, _ in found.spans)
    rest = found.blanked(text)
    within = any(
        b";" in text[start:end] and rest[end:].replace(GAP, b" ").strip()
        for start, end in found.spans
        if text[start : start + 1] == b"("
    )
    return begins, bool(within)
