"""The text that ``holecam tap`` prints."""

from __future__ import annotations

from typing import TYPE_CHECKING

from holecam.cli.look_up import aligned, both, caution_lines, columns_of, heads_of, wrapped

if TYPE_CHECKING:
    from holecam.cli.tap_blind import BlindAnswer
    from holecam.lengths import Unit
    from holecam.standards.materials import Material
    from holecam.standards.tap_drills import TapAdvice, TapChoice
    from holecam.standards.thread_strength import LeastEngagement

_YES_NO = {True: "yes", False: "no", None: "not known"}


def tap_lines(
    advice: TapAdvice,
    blind: BlindAnswer | None,
    strength: LeastEngagement | None,
    stock: Material | None,
    thickness: float | None,
    unit: Unit,
) -> list[str]:
    """Return the lines of a tap look-up, the unit ``unit`` first."""
    thread, target, best = advice.thread, advice.target, advice.recommended
    how = "formed" if advice.formed else "cut"
    lines = [f"{thread.name}: major {both(thread.major, unit)}, {thread.pitch_text}, {thread.form.words}"]
    lines += wrapped([f"Wanted: {target.percent:g} % of thread, {how}: {target.why} ({target.source})"])
    if advice.limits is not None and not advice.formed:
        low, high = both(advice.limits.smallest, unit), both(advice.limits.largest, unit)
        lines.append(f"Minor diameter, class {advice.limits.class_name}: {low} to {high}")
        lines.append(f"  {advice.limits.source}")
    else:
        lines += wrapped([advice.limits_note[0].upper() + advice.limits_note[1:]])
    if advice.engaged_threads is not None:
        lines.append(f"Threads engaged: {advice.engaged_threads:.1f}")
    head = ("", "drill", *heads_of(unit), "thread", "in class", "if oversize", "in class")
    body = [_row(c, best, unit, formed=advice.formed) for c in advice.choices]
    lines += ["", *aligned(head, body, left=(0, 1))]
    over = both(best.oversize, unit)
    name = best.drill.label
    lines += ["", f"Take {name}: {advice.reason}."]
    usual = (
        f"Drills usually cut {over} over their size; at the published most {name} leaves {best.worst_percent:.0f} %."
    )
    lines += wrapped([usual, *(f"Note: {note}." for note in advice.notes)])
    if blind is not None:
        from holecam.cli.tap_blind import blind_lines

        lines += ["", *wrapped(blind_lines(blind, unit))]
    if strength is not None:
        lines += ["", *wrapped(_strength_lines(strength, unit))]
    if stock is not None:
        from holecam.standards.cautions import cautions_for, material_tags

        lines += ["", *caution_lines(cautions_for(material_tags(stock, thickness=thickness)))]
    return lines


def _row(choice: TapChoice, best: TapChoice, unit: Unit, *, formed: bool) -> tuple[str, ...]:
    class_words = ("", "") if formed else (_YES_NO[choice.within_class], _YES_NO[choice.oversize_within_class])
    return (
        ">" if choice is best else "",
        choice.drill.label,
        *columns_of(choice.drill.exact_diameter, unit),
        f"{choice.percent:.0f} %",
        class_words[0],
        f"{choice.oversize_percent:.0f} %",
        class_words[1],
    )


def _strength_lines(strength: LeastEngagement, unit: Unit) -> list[str]:
    length = f"{both(strength.length, unit)}, {strength.diameters:.2f} D, {strength.threads:.1f} threads"
    lines = [f"Least engagement for the screw to break first: {length}"]
    lines.append(
        f"  stress area {strength.stress_area:.2f} mm2; thread of the hole weaker than the screw's by "
        f"{strength.weakness:.2f}; FED-STD-H28/2, {strength.basis}, typical strengths: no design figure"
    )
    if strength.note:
        lines.append(f"  {strength.note}")
    return lines
