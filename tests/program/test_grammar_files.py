"""The grammar is found in a checkout and in an installation; lark is loaded only when needed."""

import subprocess
import sys
from pathlib import Path

import pytest

from gpre.program import grammar


def test_the_grammar_of_the_checkout_is_found() -> None:
    assert "start:" in grammar.grammar_text("block.lark")


def test_the_grammar_of_an_installation_comes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "gpre" / "program"
    package.mkdir(parents=True)
    monkeypatch.setattr(grammar, "__file__", str(package / "grammar.py"))
    with pytest.raises(FileNotFoundError, match=r"block\.lark is missing"):
        grammar.grammar_text("block.lark")
    (tmp_path / "grammars").mkdir()
    (tmp_path / "grammars" / "block.lark").write_text("beside")
    with pytest.raises(FileNotFoundError):  # some other folder of that name is not taken
        grammar.grammar_text("block.lark")
    (tmp_path / "pyproject.toml").write_text("")
    assert grammar.grammar_text("block.lark") == "beside"
    (tmp_path / "gpre" / "_grammars").mkdir()
    (tmp_path / "gpre" / "_grammars" / "block.lark").write_text("shipped")
    assert grammar.grammar_text("block.lark") == "shipped"


def test_lark_is_loaded_only_for_blocks_that_need_it() -> None:
    script = (
        "import sys; from gpre.program.read import read;"
        "read(b'%\\nO1\\nN1 G1 X 5 (text)\\nMO6\\n//text\\n%\\n');"
        "assert 'lark' not in sys.modules;"
        "read(b'#1=5');"
        "assert 'lark' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", script], check=True)
