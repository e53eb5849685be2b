"""What was done to a drawing to read it: the unit it was taken in, ends joined, curves replaced, things left out."""

from __future__ import annotations

from collections.abc import Iterator

from holecam.job.drawings import read_drawing
from holecam.job.models import Job
from holecam.job.models_shape import DrawingFile
from holecam.job.quantities import Model
from holecam.lengths import Unit
from holecam.plan.finding import Finding, Severity
from holecam.planning.words_in_unit import in_unit


def drawing_findings(job: Job) -> list[Finding]:
    """Return what the readings of all drawings of a job have to say, each thing once, in the order of the job."""
    found: list[Finding] = []
    for drawing in drawings_of(job):
        drawn = read_drawing(drawing, folder=job.source.folder)
        layer = "" if drawing.layer is None else f', layer "{drawing.layer}"'
        about = f'drawing "{drawing.file}"{layer}'
        for code, severity, told in (
            ("drawing-damaged", Severity.CAUTION, drawn.damage),
            ("drawing-reading", Severity.NOTE, drawn.notes),
        ):
            found += [
                _finding(code, severity, about, words.removeprefix(f"{drawn.file}: "), job.unit) for words in told
            ]
    return list(dict.fromkeys(found))


def _finding(code: str, severity: Severity, about: str, words: str, unit: Unit) -> Finding:
    message = in_unit(words[:1].upper() + words[1:], unit)
    remedy = "Compare the shape on the sheet with the drawing."
    return Finding(code, severity, about, message, source="drawing", remedy=remedy)


def drawings_of(part: object) -> Iterator[DrawingFile]:
    """Yield every drawing that a job, or a table of it, takes a shape or holes from, in the order of its keys."""
    if isinstance(part, DrawingFile):
        yield part
    elif isinstance(part, Model):
        for name in type(part).model_fields:
            yield from drawings_of(getattr(part, name))
    elif isinstance(part, (tuple, list)):
        for each in part:
            yield from drawings_of(each)
