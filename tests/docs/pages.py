"""Read the pages of ``docs/``: fenced blocks, commands with the output shown below them, whole jobs, links."""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass
from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs"
PAGES = sorted(DOCS.glob("*.md"))
ELISION = "..."
"""A line of this alone, in shown output, stands for any lines."""


@dataclass(frozen=True, slots=True)
class Block:
    """One fenced block: its language, its lines, where it begins, and the last line of text above it."""

    language: str
    lines: tuple[str, ...]
    line: int
    above: str

    @property
    def text(self) -> str:
        """The block as one text."""
        return "\n".join(self.lines) + "\n"


def blocks(page: Path) -> list[Block]:
    """Return the fenced blocks of a page, in order."""
    found: list[Block] = []
    inside: list[str] | None = None
    language, start, above = "", 0, ""
    for number, line in enumerate(page.read_text(encoding="utf-8").splitlines(), start=1):
        if line.startswith("```"):
            if inside is None:
                inside, language, start = [], line[3:].strip(), number
            else:
                found.append(Block(language, tuple(inside), start, above))
                inside, above = None, ""
        elif inside is not None:
            inside.append(line)
        elif line.strip():
            above = line.strip()
    assert inside is None, f"{page.name}: the block of line {start} has no end"
    return found


def is_commands(block: Block) -> bool:
    """Return whether a block holds commands of the tool."""
    return block.language == "sh" and bool(block.lines) and block.lines[0].startswith("holecam")


def is_job(block: Block) -> bool:
    """Return whether a block is a whole job."""
    return block.language == "toml" and any(re.match(r"title\s*=", line) for line in block.lines)


def job_name(block: Block) -> str:
    """Return the file name that the first line of a job gives, as a remark."""
    match = re.fullmatch(r"# ([\w-]+\.toml)", block.lines[0])
    assert match, f'line {block.line}: a whole job begins with "# its-name.toml"'
    return match[1]


def program_name(block: Block) -> str | None:
    """Return the file name that the first line of a shown program gives, as a remark; None for an excerpt."""
    match = re.fullmatch(r"\(([\w-]+\.nc)\)", block.lines[0]) if block.language == "gcode" else None
    return match[1] if match else None


def commands(block: Block) -> list[tuple[list[str], int]]:
    """Return each command's words and the exit code that the page promises, 0 unless a remark says another."""
    found = []
    for line in block.lines:
        promised = re.search(r"# exit code (\d+)", line)
        words = shlex.split(line, comments=True)
        if words:
            assert words[0] == "holecam", f"line {block.line}: {line}"
            found.append((words[1:], int(promised[1]) if promised else 0))
    return found


def missing_line(shown: tuple[str, ...], output: str) -> str | None:
    """Return the first shown line that the output does not have in its place; None when all stand there in order.

    Lines between two elisions have to follow each other. Blanks at the ends of lines do not count.
    """
    real = [line.rstrip() for line in output.splitlines()]
    at, adjoining = 0, False
    for line in (s.rstrip() for s in shown):
        if line == ELISION:
            adjoining = False
        elif adjoining:
            if at >= len(real) or real[at] != line:
                return line
            at += 1
        else:
            if line not in real[at:]:
                return line
            at = real.index(line, at) + 1
            adjoining = True
    return None


def anchors(page: Path) -> set[str]:
    """Return the anchors of a page's headings, as the usual readers of such pages make them."""
    found = set()
    for line in page.read_text(encoding="utf-8").splitlines():
        if match := re.match(r"#+ (.*)", line):
            found.add(re.sub(r"[^\w\- ]", "", match[1].lower()).strip().replace(" ", "-"))
    return found


def links(page: Path) -> list[str]:
    """Return what a page links to, outside fenced blocks."""
    text = re.sub(r"^```.*?^```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)
    return re.findall(r"\]\(([^)\s]+)\)", text)
