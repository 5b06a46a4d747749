"""What a plan does and what it leaves alone; places that are alike are told once, with a count."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rich.text import Text

from gpre.editing.proposal import Plan, Proposal, Refusal
from gpre.report.wording import WIDTH, counted, visible

SHOWN_PLACES = 4
SHOWN_GROUPS = 20  # of one section; --json has all
_INDENT = 4
_NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?")


@dataclass(frozen=True, slots=True)
class _PlanGroup:
    """Places of a rewrite, or of several, about which the same is said, numbers apart."""

    rewrites: tuple[str, ...]
    texts: tuple[str, ...]
    places: tuple[tuple[int, int], ...]


def render_plan(plan: Plan) -> Text:
    """Show what was done, what was not chosen, and what was refused and why."""
    result = Text()
    _section(result, "done", _grouped((each, each.summary) for each in plan.chosen), "green")
    gains = _gains(plan.chosen)
    if gains:
        result.append(textwrap.indent(gains, " " * _INDENT) + "\n")
    _section(
        result, "not worth it", _grouped((each, each.summary) for each in plan.declined), "yellow"
    )
    _section(result, "skipped", _grouped((each, each.reason) for each in plan.refused), "yellow")
    if not (plan.chosen or plan.declined or plan.refused):
        result.append("nothing to do: no rewrite applies to this program\n")
    return result


def _grouped(said: Iterable[tuple[Proposal | Refusal, str]]) -> list[_PlanGroup]:
    """Put together what is alike but for its numbers; the first of each is what is shown."""
    found: dict[tuple[str, str], tuple[list[str], list[tuple[int, int]]]] = {}
    for each, text in said:
        texts, places = found.setdefault((each.rewrite, _NUMBER.sub("#", text)), ([], []))
        texts.append(text)
        places.append((each.first_block + 1, each.last_block + 1))
    alike: dict[tuple[tuple[str, ...], tuple[tuple[int, int], ...]], list[str]] = {}
    for (rewrite, _), (texts, places) in found.items():
        alike.setdefault((tuple(dict.fromkeys(texts)), tuple(places)), []).append(rewrite)
    return [_PlanGroup(tuple(names), texts, places) for (texts, places), names in alike.items()]


def _section(result: Text, head: str, groups: Sequence[_PlanGroup], colour: str) -> None:
    if not groups:
        return
    result.append(f"{head}\n", f"bold {colour}")
    for group in groups[:SHOWN_GROUPS]:
        places = _places(group.places)
        names = textwrap.wrap(", ".join(group.rewrites), WIDTH - 2, break_on_hyphens=False)
        result.append("\n".join(f"  {line}" for line in names), "bold")
        apart = "  " if len(names[-1]) + len(places) + 4 <= WIDTH else "\n    "
        result.append(f"{apart}{places}\n")
        indent = " " * _INDENT
        result.append(
            textwrap.fill(
                visible(group.texts[0]) + (", and so on" if len(group.texts) > 1 else ""),
                WIDTH,
                initial_indent=indent,
                subsequent_indent=indent,
                break_on_hyphens=False,
            )
            + "\n"
        )
    more = sum(len(group.places) for group in groups[SHOWN_GROUPS:])
    if more:
        result.append(f"  and {counted(more, 'more place')}; --json has all\n", "dim")


def _places(places: Sequence[tuple[int, int]]) -> str:
    """Return `line 4`, `lines 4-9`, `12 places: lines 4-9, 20-25, ... 90-95`."""
    shown = [str(first) if first == last else f"{first}-{last}" for first, last in places]
    if len(shown) == 1:
        return f"line {shown[0]}" if "-" not in shown[0] else f"lines {shown[0]}"
    if len(shown) > SHOWN_PLACES:
        shown = [*shown[: SHOWN_PLACES - 1], f"... {shown[-1]}"]
    return f"{counted(len(places), 'place')}: lines {', '.join(shown)}"


def _gains(chosen: Sequence[Proposal]) -> str:
    """Sum up what the chosen proposals gain and what they cost."""
    parts: list[str] = []
    gained = sum(each.gained for each in chosen)
    holes = sum(each.holes for each in chosen)
    longer = sum(each.longer for each in chosen)
    witness = sum(each.witness for each in chosen)
    if gained:
        parts.append(f"{counted(gained, 'reversal')} fewer while cutting")
    if holes:
        parts.append(f"{counted(holes, 'position')} reached from the right side")
    if longer >= 0.05:
        parts.append(f"{longer:,.1f} mm more in the air")
    elif longer <= -0.05:
        parts.append(f"{-longer:,.1f} mm less in the air")
    if witness:
        parts.append(f"{counted(witness, 'place')} where a mark may now stand")
    if not parts:
        return ""
    return textwrap.fill("together: " + "; ".join(parts), WIDTH - _INDENT)


def what_more(plan: Plan) -> str:
    """Tell in one line what could be done if tool and stock were named; "" where nothing more."""
    wanting = [each for each in plan.refused if each.needs]
    needs = sorted({need for each in wanting for need in each.needs}, key=_need_order)
    if not wanting:
        return ""
    options = " ".join(dict.fromkeys(_option(need) for need in needs))
    names = [f"the {need}" if need == "stock" else need for need in needs]
    listed = " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))
    places = counted(len(wanting), "more place")
    return f"more: name {listed}, and {places} can be looked at: {options}"


def _need_order(need: str) -> tuple[int, int, str]:
    kind, _, number = need.partition(" ")
    return (0 if kind == "tool" else 1, int(number) if number.isdigit() else 0, need)


def _option(need: str) -> str:
    kind, _, number = need.partition(" ")
    if kind == "tool" and number:
        return f"--tool {number}=DIAMETER"
    if kind == "stock":
        return "--stock XMIN,YMIN,ZMIN,XMAX,YMAX,ZMAX"
    return "--job FILE"
