"""A measured chain of sizes as a picture: drawn above, found below, and what to correct."""

from __future__ import annotations

from holecam.lengths import length_text, number_in
from holecam.output.drawn_once import drawn_once
from holecam.output.plain_words import plain
from holecam.output.svg_canvas import Canvas, number
from holecam.plan.chain import ChainReport
from holecam.plan.plan import Plan

WIDE = 900.0
SIDE = 90.0
"""Units to the left of the bars, for their names."""

LINE = 22.0


@drawn_once
def chain_pictures(plan: Plan) -> tuple[tuple[ChainReport, Canvas], ...]:
    """Return the picture of each measured chain."""
    return tuple((report, _picture(plan, report)) for report in plan.chains)


def _picture(plan: Plan, report: ChainReport) -> Canvas:
    rows = len(report.sections) + len(report.readings)
    canvas = Canvas(WIDE, 190.0 + LINE * (rows + 3), f"Chain of sizes: {report.name}", "chain")
    longest = max(sum(s.drawn for s in report.sections), sum(s.found or s.drawn for s in report.sections), 1e-9)
    scale = (WIDE - SIDE - 24) / longest
    canvas.text((12, 26), f"{_short(report.name, 40)}: drawn and found", 17, look="strong")
    for top, words in ((46.0, "drawn"), (106.0, "found")):
        canvas.text((12, top + 25), words, 15)
        x = SIDE
        for n, section in enumerate(report.sections, start=1):
            known = words == "drawn" or section.found is not None
            size = section.drawn if words == "drawn" else section.found or section.drawn
            wide = max(size * scale, 1.0)
            look = "gone" if not known else "bar named" if section.named and words == "found" else "bar"
            canvas.add("rect", look, {"x": number(x), "y": number(top), "width": number(wide), "height": "40"})
            mark = f"{n}{'' if known else '?'}{' !' if section.named and words == 'found' else ''}"
            if wide > 14 * len(mark):
                canvas.text((x + wide / 2, top + 26), mark, 16, look="strong", anchor="middle")
            x += wide
    _words(plan, canvas, report, 178.0)
    return canvas


def _words(plan: Plan, canvas: Canvas, report: ChainReport, top: float) -> None:
    unit, y = plan.unit, top
    columns = (12.0, 330.0, 430.0, 530.0, 640.0)
    heads = ("section", f"drawn {unit}", f"found {unit}", "doubt", "correct by")
    for at, words in zip(columns, heads, strict=True):
        canvas.text((at, y), words, 14, look="quiet")
    for n, section in enumerate(report.sections, start=1):
        y += LINE
        cells = (
            f"{n}  {_short(section.name, 26)}",
            number_in(section.drawn, unit),
            "?" if section.found is None else number_in(section.found, unit),
            "?" if section.doubt is None else number_in(section.doubt, unit),
            "not settled" if section.correction is None else length_text(section.correction, unit, signed=True),
        )
        for at, words in zip(columns, cells, strict=True):
            canvas.text((at, y), words, 15, look="strong" if section.named else "")
        if section.named:
            canvas.text((WIDE - 12, y), "! error here", 14, look="strong", anchor="end")
    y += LINE * 1.5
    heads = ("reading", "measured", "adjusted", "", "residual over its doubt")
    for at, words in zip(columns, heads, strict=True):
        canvas.text((at, y), words, 14, look="quiet")
    for one in report.readings:
        y += LINE
        measured, adjusted = (
            f"{v:.2f} deg" if one.is_angle else number_in(v, unit) for v in (one.measured, one.adjusted)
        )
        note = f"{round(one.normalised, 2) + 0.0:+.2f}" if one.checkable else "nothing checks it"
        cells = (_short(one.name, 34), measured, adjusted, "", f"{note}{' suspect' if one.suspect else ''}")
        for at, words in zip(columns, cells, strict=True):
            canvas.text((at, y), words, 15, look="strong" if one.suspect else "")


def _short(name: str, most: int) -> str:
    name = plain(name)
    return name if len(name) <= most else f"{name[: most - 1]}…"
