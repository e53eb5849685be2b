"""Every case of the corpus keeps the rules: what broke one once must not break it again."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from guard import broken_rule  # noqa: E402
from targets import TARGETS, WORK, work_folder  # noqa: E402

CASES = sorted(p for p in (HERE / "corpus").rglob("*") if p.is_file())


@pytest.mark.parametrize("target", sorted(TARGETS))
def test_the_corpus_keeps_the_rules(target: str) -> None:
    """All cases of one target; WORK is the only folder that they may write into."""
    mine = [p for p in CASES if p.parent.name == target]
    assert mine, f"no case for {target}"
    case = TARGETS[target]
    with work_folder():
        case_that_warms_up = mine[0].read_bytes()
        broken_rule(case, case_that_warms_up, folder=str(WORK))  # imports are not the case's own time
        told = {p.name: broken_rule(case, p.read_bytes(), folder=str(WORK)) for p in mine}
    assert {name: text for name, text in told.items() if text} == {}


def test_the_guard_sees_each_kind_of_breach(tmp_path: Path) -> None:
    """A guard that never bites would make every figure worthless."""
    from holecam.errors import InputError

    def refused(_data: bytes) -> None:
        raise InputError("expected a length")

    def stumbles(_data: bytes) -> None:
        raise KeyError("x")

    def escapes(_data: bytes) -> None:
        (tmp_path / "outside").write_text("x")

    def moves(_data: bytes) -> None:
        (tmp_path / "outside").rename(tmp_path / "inside" / "x")

    def stays(_data: bytes) -> None:
        (tmp_path / "inside" / "y").write_text("x")

    def hangs(_data: bytes) -> None:
        while True:
            pass

    inside = tmp_path / "inside"
    inside.mkdir()
    assert broken_rule(refused, b"", folder=str(inside)) == ""
    assert broken_rule(stumbles, b"").startswith("KeyError")
    assert "outside" in broken_rule(escapes, b"", folder=str(inside))
    assert "outside" in broken_rule(moves, b"", folder=str(inside))
    assert broken_rule(stays, b"", folder=str(inside)) == ""
    assert "more than 0.2 s" in broken_rule(hangs, b"", seconds=0.2)
