"""The tables of a correction on every paper, and what the mirrored part's own sheet says of it."""

from __future__ import annotations

import io
from typing import Any

import pytest
from pypdf import PdfReader

from holecam.job.models import job_from_dict
from holecam.output.sheet_pdf import sheet_pdf
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plans


def plans(**more: Any) -> tuple[Plan, ...]:
    """Return the plans of a piece with a slanting edge, and of its mirror image."""
    return make_plans(
        job_from_dict(
            {
                "title": "invented",
                "unit": "mm",
                "hand": "left",
                "other_hand": {"hand": "right", "flip": "x"},
                "part": {"material": "beech", "thickness": 20},
                "marking_out": [
                    {
                        "name": "nose",
                        "drawn": {"points": [[0, 0], [80, 0], [80, 10], [28.0385, 40], [0, 40]]},
                        "made": {"points": [[0, 0], [82, 0], [82, 10], [28.0385, 40], [0, 40]]},
                        "held_at": [{"drawn": 1, "made": 1}, {"drawn": 5, "made": 5}],
                        **more,
                    }
                ],
            }
        )
    )


@pytest.mark.parametrize("back_too", [True, False])
def test_the_mirrored_part_has_the_tables_of_its_own_face(back_too: bool) -> None:
    given, other = (plan.markings[0] for plan in plans(back_too=back_too))
    assert [side.side for side in other.sides] == (["face", "back"] if back_too else ["face"])
    slant = [next(m for m in report.sides[0].marks if m.edge == 3) for report in (given, other)]
    assert slant[0].angle_deg == pytest.approx(150.0, abs=1e-3)
    assert slant[1].angle_deg == pytest.approx(30.0, abs=1e-3)
    assert (slant[0].from_a, slant[0].from_b) == (slant[1].from_a, slant[1].from_b)
    assert max(p[0] for c in given.drawn.curves for p in (c.start, c.end)) == 80.0
    assert min(p[0] for c in other.drawn.curves for p in (c.start, c.end)) == -80.0
    assert other.remove_area == given.remove_area
    if back_too:
        assert [m.angle_deg for m in other.sides[1].marks] == [m.angle_deg for m in given.sides[0].marks]


def test_the_pdf_has_the_tables_that_the_text_has() -> None:
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(sheet_pdf(plans()[0]))).pages)
    words = " ".join(words.split())
    assert "MARKING OUT: nose" in words
    assert "Seen from the back (mirrored):" in words
    assert "3 corner 10.000 80.000 150.00" in words
