"""The small file beside a run sheet that tells the open page which plan is the newest, and what is wrong with the job.

It is a style sheet with two values and no rule that paints anything: a page may read such a file from disk without a
server, and nothing in it can run. Texts in it are letters, digits, and percent codes only.
"""

from __future__ import annotations

import hashlib
import re
from urllib.parse import quote

STAMP_ENDING = "-stamp.css"
"""Takes the place of ``.html`` in the name of the sheet; the page finds its stamp by its own name."""

BLANK = "0" * 16
_META = '<meta name="sheet-stamp" content="{}">'
_FOUND = re.compile(_META.format("([0-9a-f]{16})"))

LONGEST_TROUBLE = 8000
"""Characters of a message that a page shows; the terminal has all of it."""


def stamped(page: str) -> str:
    """Return a page that was made with the blank stamp, with the digest of its own text in the stamp's place."""
    digest = hashlib.sha256(page.encode()).hexdigest()[: len(BLANK)]
    return page.replace(_META.format(BLANK), _META.format(digest), 1)


def stamp_of(page: str) -> str:
    """Return the stamp of a page; empty when it has none."""
    found = _FOUND.search(page)
    return found[1] if found else ""


def stamp_name(sheet: str) -> str:
    """Return the name of the file beside a sheet.

    >>> stamp_name("other-hand-sheet.html")
    'other-hand-sheet-stamp.css'
    """
    return sheet.removesuffix(".html") + STAMP_ENDING


def stamp_file(stamp: str, *, trouble: str = "") -> str:
    """Return the text of the file: the stamp of the newest sheet, and why the job could not be planned since then.

    >>> stamp_file("00ff00ff00ff00ff", trouble='a "b"').splitlines()[-1]
    '#stamp{--plan:"00ff00ff00ff00ff";--trouble:"a%20%22b%22"}'
    """
    if len(trouble) > LONGEST_TROUBLE:
        trouble = trouble[:LONGEST_TROUBLE] + " ... the rest stands in the terminal"
    said = quote(trouble.encode("utf-8", "replace"), safe="")
    return (
        "/* Read by the run sheet beside it, to follow a new plan. Without this file the sheet works all the same. */\n"
        f'#stamp{{--plan:"{quote(stamp, safe="")}";--trouble:"{said}"}}\n'
    )
