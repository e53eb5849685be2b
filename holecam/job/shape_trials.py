"""Shapes that a job lists or takes from drawings, made once when the job is read, so that a mistake has its line."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from holecam.errors import InputError
from holecam.job.quantities import folder_of_drawings, refusal

if TYPE_CHECKING:
    from holecam.job.models_pattern import DrawnCircles
    from holecam.job.models_shape import PathModel, RegionModel

# The shapes are imported inside the functions: they are made of the models that call these


def try_region(region: RegionModel, *, islands: bool = False) -> None:
    """Refuse a region whose steps or drawing make no outline; a drawing is opened only where a reader said so.

    Only a pocket may have ``islands``: outlines inside the outline of its drawing.
    """
    from holecam.job.outlines import outline_of, shape_of

    if region.drawing is None:
        _try(lambda: shape_of(region), ("points",) if region.points is not None else ())
    else:
        folder = folder_of_drawings()
        if folder is not None:
            _try(
                lambda: (shape_of if islands else outline_of)(region, folder=folder), ("drawing",), region.drawing.file
            )


def try_path(path: PathModel) -> None:
    """Refuse a path whose steps or drawing make no line."""
    from holecam.job.outlines import path_of

    if path.drawing is None:
        _try(lambda: path_of(path), ("points",))
    else:
        folder = folder_of_drawings()
        if folder is not None:
            _try(lambda: path_of(path, folder=folder), ("drawing",), path.drawing.file)


def try_circles(drawing: DrawnCircles) -> None:
    """Refuse a drawing that does not have the circles which a pattern asks for."""
    from holecam.job.drawings import holes_in

    folder = folder_of_drawings()
    if folder is not None:
        _try(lambda: holes_in(drawing, folder=folder), (), drawing.file)


def try_islands(region: RegionModel, islands: tuple[RegionModel, ...]) -> None:
    """Refuse islands that touch the wall of a pocket, lie outside it, or touch each other."""
    from holecam.cuts.region_checks import check_islands
    from holecam.job.outlines import outline_of, shape_of

    folder = folder_of_drawings()
    if not islands or (folder is None and any(r.drawing is not None for r in (region, *islands))):
        return
    try:
        wall = shape_of(region, folder=folder or "").outline
        made = [outline_of(i, folder=folder or "") for i in islands]
    except InputError:
        return  # they have been tried one by one already, and their own message is the better one
    names = [str(getattr(i, "name", None) or "") for i in islands]
    _try(lambda: check_islands(wall, made, "the pocket", names), ("island",))


def _try(make: Callable[[], object], at: tuple[str, ...], file: str = "") -> None:
    try:
        make()
    except InputError as error:
        where, mark, said = error.message.partition(": expected ")
        if not mark:
            raise refusal("an outline that can be made", _ended(_upper(error.message, file)), at=at) from None
        inner = (*at, error.key) if error.key in ("file", "layer", "drawing_unit", "diameter") else at
        wanted, found, rest = said.partition(", found ")
        if found:
            raise refusal(wanted, f"{_upper(where, file)}: found {_ended(rest)}", at=inner) from None
        wanted, dot, rest = said.partition(". ")
        raise refusal(
            wanted.rstrip("."), f"{_upper(where, file)}. {rest}".strip() if dot else f"See {where}.", at=inner
        ) from None


def _ended(text: str) -> str:
    return text if text.endswith((".", "?", "!")) else f"{text}."


def _upper(where: str, file: str) -> str:
    """Return the beginning of a sentence; the name of the drawing stays as it is spelled."""
    named = ".dxf" in where.lower() or (file and where.partition(": ")[0].endswith(file))
    return where if named else where[:1].upper() + where[1:]
