"""What was written into the folder of a job, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from holecam.delivery.folder import Delivered


def delivered_text(delivered: Delivered) -> str:
    """Return which files were written, kept and taken away; the last line names the sheet to open."""
    names = ", ".join(sorted(delivered.written)) or "none"
    lines = [f"{len(delivered.written)} files written to {delivered.folder}: {names}"]
    if delivered.unchanged:
        lines.append(f"{len(delivered.unchanged)} files were the same already")
    lines += [f"{name} had been edited by hand; the edited one is kept as {other}" for name, other in delivered.kept]
    lines += [f"{name} of the last run is no longer planned and was taken away" for name in delivered.removed]
    lines.append(f"At the machine open {delivered.folder / 'sheet.html'}")
    return "\n".join(lines)
