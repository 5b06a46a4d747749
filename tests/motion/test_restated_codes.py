"""A code among plain blocks does the same in columns as block by block, whatever is in force."""

from __future__ import annotations

import pytest
from motion_checks import assert_same, codes, program, run

from gpre.motion.controller import Controller
from gpre.motion.groups import G_GROUPS, Group, code_name
from gpre.motion.trace import trace_from

HEADS = (
    "G21",
    "G20",
    "G55",
    "G54 P3",
    "G110",  # not known: then neither is the system
    "G43 H1",
    "G41 D1",
    "G61",
    "G99",
    "G90.1",
    "G91",
)
MODAL = sorted(code for code, group in G_GROUPS.items() if group != Group.NON_MODAL)
ORIGINS = {1: (100.0, 50.0, 200.0), 2: (300.0, 50.0, 200.0)}
PLAIN = "".join(f"G1 X{i % 7} Y{i % 5}\n" for i in range(40))


@pytest.mark.parametrize("start_known", [True, False])
@pytest.mark.parametrize("head", HEADS)
def test_each_code_amid_plain_blocks(head: str, start_known: bool) -> None:
    controller = Controller(origins=ORIGINS, lengths={1: 7.0}, start_known=start_known)
    for code in MODAL:
        text = f"G94 F300\n{head}\nG0 X0 Y0 Z0\n{PLAIN}{code_name(code)}\n{PLAIN}"
        made = program(text)
        (fast, left), (slow, stayed) = (
            trace_from(made, controller, fast=fast) for fast in (True, False)
        )
        assert_same(fast, slow)
        assert fast.events == slow.events, code
        assert fast.findings == slow.findings, code
        assert repr(left.state) == repr(stayed.state), code


@pytest.mark.parametrize("code", ["999", "999.9", "1000", "1500", "2000", "99999", "1e9", "-1"])
def test_a_code_beyond_all_tables_is_not_known(code: str) -> None:
    text = f"G94 F300\nG0 X0 Y0 Z0\n{PLAIN}G{code}\n{PLAIN}"
    assert {"INT303"} <= set(codes(run(text))) or "e" in code
