"""Pages that say how many there are: each is kept until the last is drawn, then written with its number."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, BinaryIO


def counted_paper(buffer: BinaryIO, size: tuple[float, float], number: Callable[[Any, int, int], None]) -> Any:
    """Return a canvas of the PDF library that calls ``number(canvas, page, pages)`` on each page when it is saved."""
    from reportlab.pdfgen.canvas import Canvas

    class CountedPages(Canvas):  # type: ignore[misc, unused-ignore]
        """Keeps the state of every page; drawing a sheet twice, only to count its pages, takes twice the time."""

        def __init__(self) -> None:
            super().__init__(buffer, pagesize=size, invariant=1, pageCompression=1)
            self.kept: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802  (the library's name)
            self.kept.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            kept = self.kept
            for page, state in enumerate(kept, start=1):
                self.__dict__.update(state)
                number(self, page, len(kept))
                super().showPage()
            super().save()

    return CountedPages()
