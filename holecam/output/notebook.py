"""Show a plan and its parts in a notebook: an object with ``_repr_html_`` around what the papers draw."""

from __future__ import annotations

from html import escape

from msgspec import Struct

from holecam.plan.plan import Plan


class Shown(Struct, frozen=True):
    """Text of a page; a notebook draws it, a terminal prints its words."""

    html: str
    words: str

    def _repr_html_(self) -> str:
        return self.html

    def __repr__(self) -> str:
        return self.words


def show_plan(plan: Plan) -> Shown:
    """Return plan view, coordinates and findings for a notebook.

    Example: end a cell with ``show_plan(plan)``.
    """
    from holecam.output.finding_groups import alike, told
    from holecam.output.plain_words import plain
    from holecam.output.plan_picture import plan_picture
    from holecam.output.readings import reading
    from holecam.output.terminal_table import plan_table

    unit = plan.machine.readout.unit
    rows = "".join(
        f"<tr><td>{h.number}</td><td>{reading(plan, h.xy_machine[0]).text()}</td>"
        f"<td>{reading(plan, h.xy_machine[1]).text()}</td><td>{escape(plain(h.purpose))}</td></tr>"
        for h in plan.holes
    )
    found = "".join(
        f"<li><b>{g[0].severity.upper()}</b> {escape(plain(g[0].code))}: {escape(told(g))}</li>"
        for g in alike(plan.findings)
    )
    head = f"<tr><th>hole</th><th>X {unit}</th><th>Y {unit}</th><th>what</th></tr>"
    picture = _as_image(plan_picture(plan).canvas.standalone(), "Plan view")
    html = (
        f"<h3>{escape(plain(plan.title))}</h3><p>HAND: {escape(plain(plan.part.hand))}</p>{picture}"
        f"<table>{head}{rows}</table><ul>{found}</ul>"
    )
    return Shown(html, plan_table(plan))


def show_freedom(plan: Plan) -> Shown:
    """Return the freedom of each pattern for a notebook; empty where none was worked out."""
    from holecam.output.freedom_picture import freedom_pictures

    pictures = freedom_pictures(plan)
    html = "".join(_as_image(c.standalone(), f"Freedom of {p.pattern}") for p, c in pictures)
    return Shown(html, "; ".join(w for p, _ in pictures for w in p.words))


def show_chains(plan: Plan) -> Shown:
    """Return the measured chains for a notebook."""
    from holecam.output.chain_picture import chain_pictures
    from holecam.output.chain_table import chain_table

    html = "".join(_as_image(c.standalone(), f"Chain {r.name}") for r, c in chain_pictures(plan))
    return Shown(html, "\n".join(chain_table(r, plan.unit) for r in plan.chains))


def show_cuts(plan: Plan) -> Shown:
    """Return slots, pockets and step-downs for a notebook: pictures, and their tables as words."""
    from holecam.output.cut_picture import cut_pictures, picture_name
    from holecam.output.milled_table import milled_lines
    from holecam.output.section_picture import section_pictures
    from holecam.output.step_down_picture import step_down_picture_name, step_down_pictures
    from holecam.output.step_down_table import step_down_table

    pictures = [(picture_name(cut, work), c) for cut, work, c in cut_pictures(plan)]
    pictures += [(f"Section through {s.name}", c) for s, c in section_pictures(plan)]
    pictures += [(step_down_picture_name(s), c) for s, c in step_down_pictures(plan)]
    words = ["\n".join(milled_lines(c, plan.unit)) for c in plan.cuts]
    words += [step_down_table(s, plan.unit) for s in plan.step_downs]
    return Shown("".join(_as_image(c.standalone(), name) for name, c in pictures), "\n\n".join(words))


def _as_image(svg: str, words: str) -> str:
    """Return a picture as an image of its own: its style cannot reach the notebook, nor the notebook's style it."""
    import base64

    data = base64.b64encode(svg.encode("utf-8")).decode("ascii")
    return f'<img alt="{escape(words, quote=True)}" style="max-width:100%" src="data:image/svg+xml;base64,{data}">'
