"""What the look-ups answer to many texts and figures, kept in ``tests/standards/recorded``.

They were read when they were made, those of threads and taps whole, the others in part. They tell that an answer has
changed; that it is right is the business of the other tests.

After a wanted change run ``python tests/standards/recorded_looks.py``, read every line of the difference, commit both.
Figures have six digits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from holecam.errors import InputError
from holecam.standards.clearance_holes import FITS, clearance_hole
from holecam.standards.cutting_data import all_operations, chip_load, cutting_start, drill_feed
from holecam.standards.drill_names import parse_drill, parse_size
from holecam.standards.drills import owned_drills
from holecam.standards.materials import Material, all_materials, material
from holecam.standards.milling_depths import milling_depths
from holecam.standards.minor_limits import minor_limits
from holecam.standards.screw_heads import HEADS, counterbore, countersink, screw_head
from holecam.standards.tap_drills import TapAdvice, choose_tap_drill
from holecam.standards.thread_names import parse_thread
from holecam.standards.thread_percent import stated_target, target_percent
from holecam.standards.thread_strength import least_engagement, tensile_stress_area, thread_extremes

FOLDER = Path(__file__).parent / "recorded"


def figure(value: float | None) -> str:
    return "-" if value is None else f"{value:.6g}"


def figures(*values: float | None) -> str:
    return " ".join(map(figure, values))


def told(make: Callable[[], str]) -> str:
    """The answer, or why there is none."""
    try:
        return make()
    except InputError as error:
        return f"refused: {error}"


THREADS = [
    "x" * 60, "6/32 UNC", "7/32 UNC", "1/4-20 ME", "1/4-19 UNC", "7 x 0 60 deg", "5/16 x 36 tpi whitworth",
    "0.1234567 in x 40 tpi 60 deg", "9/32 x 40 tpi whitworth",
    "1 5/16 - 20", "1 5/16 - 20 UNEF", "15/16-20", "15/16 - 20 UNEF", "1 3/4 bsw", "m 4 x 0.7", "6 - 32", "2 - 56 unc",
    "6-32", "#6-32", "6-32 UNC", "6-40", "6-36", "1/4-20", "1/4-28", "1/4-32", "1/4 - 20 UNC-2B", "1/4", "1/4 UNC",
    "1/4 NF", "1/4 bsw", "1/4 whit", "1/4 whitworth 26", "1/4-26", "1/4-40", "1/4-19", "3/16-24", "3/16 x 40 ME",
    "3/16 me", "3/16-40", "3/16-32", "1-8", "1-12", "1 bsf", "1 1/8-7", "1-1/8-7", "1 1/4", "M4", "m4x.7", "M4 x 0.7",
    "M4-0.5", "M4 fine", "M8 fine", "M8 coarse", "M8x1", "M10 fine", "M10x1.1", "M7", "M25", "M0.5", "M4 6H", "M4-6g",
    "M4 4g", "2BA", "ba 2", "2 ba", "no. 2 ba", "17 ba", "0 BA", "6/32", "10/32", "7/32", "6", "0-80", "5-44",
    "12-24", "#12-28", "13-20", "0.25-20", ".25 in x 20 tpi 60 deg", "0.2500-20", "7 x 0.75 60 deg",
    "7 mm x 0.75 mm 60 deg", "7 x 0.75", "7 x 36 tpi 60 deg", "7 mm x 36 tpi whitworth", "1/4 x 36 tpi whitworth",
    "1/4 x 36 whitworth", "1/4 x 0.7 mm whitworth", "1/4 x 36 tpi", "0.3 in x 36 ba form", "0.3 in x 36 tpi 47.5 deg",
    "0.3 x 36 tpi 55 degrees", "300 x 2 60 deg", "3 x 2 60 deg", "1/4 x 0 tpi 60 deg", "0 x 1 60 deg",
    "1-3/8 x 12 tpi uns", "0.333333 in x 20 tpi un", "1/3 x 20 tpi un", "2-56 x 3", "G 1/4", "1/4 npt", "tr 10",
    "r 1/8", "1/4 acme", "4,5 x 1", "6-32, UNC", "\xbc-20", "1\xbd-6", "M4\xd70.7", '1/4"-20', "\u2116 6", "hello",
    "", " ", "x" * 61, "1/0-20", "6-0", "UNC 6-32", "unf 1/4", "32 tpi me 3/16", "3/4 whit 10", "3/4 whit 11",
    "9/16 bsf", "M3.5", "M2.2", "M12 x 1.5", "M12 fine", "M1", "M24", "M6 1", "M6 1.0 mm",
]  # fmt: skip

DRILLS = [
    "0.136", "0.2188", ".25", "0.0999 mm", "100.01 mm",
    "#29", "No. 29", "no 29", "nr.29", "num 29", "n29", "29#", "number 29", "#0", "#97", "#98", "#007", "F", "f",
    "letter f", "let. f", "size q", "ltr z", "7/32", "7/32 in", "1 1/4", "1-1/4", "1 1/4 in", "3/128", "1/3",
    "5.5 mm", "5.5mm", "5.55 mm", "0.136 in", '0.136"', "5.5", "7", "07", "0", "98", "99", "100", "0.05 mm", "0.1 mm",
    "100 mm", "100.1 mm", "150 mm", "0.0039 in", "4 in", "2 in", "2-1/2", "0 mm", "-3 mm", "ab", "", " ", "1/0",
    "\xbd", "1\xbd", "136 thou", "5,5 mm", "x" * 45, "0.2188 in", "0.21875 in", "13/64 mm", "3/8 + 1 mm",
]  # fmt: skip

SETS = [
    ["number"],
    ["letters", "#29"],
    ["inch"],
    ["mm"],
    ["all"],
    ["fractions", "7/32", "5.5 mm", "5.55 mm", " F "],
    [],
    ["nothing"],
]

SIZES = [
    "1.3 in x 8 tpi 60 deg", "30.2 x 2 60 deg",
    "0-80", "6-32", "10-32", "1/4-20", "1/4-32 UNEF", "1-8", "1-12", "M1", "M2", "M4", "M8x1", "M24", "0 BA", "2 BA",
    "16 BA", "1/8 BSW", "1/4 BSW", "1/4 BSF", "1 BSW", "3/16 x 40 ME", "7 x 0.75 60 deg", "1/4 x 36 tpi whitworth",
    "0.3 in x 36 tpi 60 deg", "50 x 4 60 deg", "2 in x 4 tpi 60 deg", "2.5 in x 5 tpi 60 deg",
]  # fmt: skip


def thread_text(text: str) -> str:
    t = parse_thread(text)
    return (
        f"{t.name} | {t.series} | {t.nominal} | {t.form.name} | {t.size} {t.unit} | {t.pitch_size} | {t.pitch_text} | "
        f"{figures(t.major, t.pitch, t.tpi, t.basic_minor, t.basic_pitch_diameter)}"
    )


def drill_text(text: str, unit: str | None) -> str:
    d = parse_drill(text, unit=unit)
    return (
        f"{d.name} | {d.set_name} | {d.label} | {d.size} {d.unit} | {figure(d.diameter)} | {d.nanometres} | {d.source}"
    )


def owned_text(names: list[str]) -> str:
    found = owned_drills(names, unit="mm")
    return f"{len(found)}: {', '.join(d.name for d in found[:9])} ... {', '.join(d.name for d in found[-4:])}"


def size_text(text: str) -> str:
    """What is known of a thread and its screw."""
    t = parse_thread(text)
    limits = minor_limits(t)
    x = thread_extremes(t)
    e = least_engagement(t, screw_mpa=400.0, hole_mpa=220.0)
    soft = least_engagement(t, screw_mpa=220.0, hole_mpa=400.0, minor=t.basic_minor * 1.02)
    worst = figures(x.external_major, x.external_pitch, x.internal_pitch, x.internal_minor)
    least = figures(e.length, e.equal_materials, e.weakness, e.diameters, e.threads, soft.length, soft.weakness)
    rows = [f"stress area {figure(tensile_stress_area(t))}, {worst} {x.basis}", f"engagement {least} {e.note}"]
    if limits is not None:
        rows.append(f"{figures(limits.smallest, limits.largest)} {limits.class_name}, {limits.source}")
    for fit in FITS:
        h = clearance_hole(t, fit)
        rows.append(f"{fit}: {h.drill.name}, {h.wanted} = {figure(float(h.wanted))} ({h.source})")
    for kind in HEADS:
        head = screw_head(t, kind)
        rows.append(f"{kind}: {figures(head.diameter, head.height, head.angle_deg)} ({head.source})")
    bore, sink = counterbore(t), countersink(t, hole=t.major * 1.05)
    rows.append(f"counterbore {figures(bore.diameter, bore.depth)} ({bore.source})")
    rows.append(f"countersink {figures(sink.diameter, sink.angle_deg, sink.depth)}")
    return "\n".join(rows)


TAPS: dict[str, Callable[[], TapAdvice]] = {
    "6-32": lambda: tap("6-32"),
    "M4 in copper, 3 mm": lambda: tap("M4", material=material("copper"), engagement=3.0),
    "M4 in mild steel, 1 mm": lambda: tap("M4", material=material("mild steel"), engagement=1.0),
    "M4 formed": lambda: tap("M4", formed=True),
    "M4 formed in cast iron": lambda: tap("M4", formed=True, material=material("cast iron")),
    "2 BA": lambda: tap("2 BA"),
    "1/4 BSW at 95": lambda: tap("1/4 BSW", target=stated_target(95)),
    "1/4-20 at 30": lambda: tap("1/4-20", target=stated_target(30)),
    "1/4-20 at 90": lambda: tap("1/4-20", target=stated_target(90)),
    "M8 from two drills": lambda: tap("M8", drills=owned_drills(["6.5 mm", "7.2 mm"])),
    "M8 from drills too small": lambda: tap("M8", drills=owned_drills(["5 mm", "6 mm"])),
    "M8 from drills too large and small": lambda: tap("M8", drills=owned_drills(["5 mm", "7.9 mm"])),
    "M8 from nothing": lambda: tap("M8", drills=()),
    "M8 from letters": lambda: tap("M8", drills=owned_drills(["letter"])),
    "M8 from one beyond its class": lambda: tap("M8", drills=owned_drills(["7.1 mm"])),
    "M8 with small drills beside": lambda: tap("M8", drills=owned_drills(["5.5 mm", "5.9 mm", "6 mm", "6.8 mm"])),
    "M8 from one of 66 percent": lambda: tap("M8", drills=owned_drills(["6.93 mm"])),
    "M8 from one of 65 percent": lambda: tap("M8", drills=owned_drills(["6.95 mm"])),
    "M8 at 30 from one of 25 percent": lambda: tap("M8", drills=owned_drills(["7.59 mm"]), target=stated_target(30)),
    "M8 at 30 from one of less": lambda: tap("M8", drills=owned_drills(["7.6 mm"]), target=stated_target(30)),
    "M8 at 90 from one of 95 percent": lambda: tap("M8", drills=owned_drills(["6.46 mm"]), target=stated_target(90)),
    "M8 at 90 from one of more": lambda: tap("M8", drills=owned_drills(["6.45 mm"]), target=stated_target(90)),
    "M8 at 83": lambda: tap("M8", target=stated_target(83)),
    "M4 formed in copper": lambda: tap("M4", formed=True, material=material("copper")),
    "M4 from one of 48 percent": lambda: tap("M4", drills=owned_drills(["3.56 mm"])),
    "M4 from one of 84 percent": lambda: tap("M4", drills=owned_drills(["3.235 mm"])),
    "M4 from one of 51 and one of 82 percent": lambda: tap("M4", drills=owned_drills(["3.535 mm", "3.25 mm"])),
    "M8 from one below its class": lambda: tap("M8", drills=owned_drills(["6.645 mm"]), target=stated_target(83)),
    "1/2 BSW": lambda: tap("1/2 BSW"),
    "1/4-32 UNEF": lambda: tap("1/4-32 UNEF"),
    "7 x 0.75 60 deg": lambda: tap("7 x 0.75 60 deg"),
    "16 BA": lambda: tap("16 BA"),
    "1/4 BSW formed": lambda: tap("1/4 BSW", formed=True),
    "50 x 4 60 deg": lambda: tap("50 x 4 60 deg"),
    "0-80": lambda: tap("0-80"),
    "M4, no length": lambda: tap("M4", engagement=0.0),
}


def tap(name: str, **stated: Any) -> TapAdvice:
    return choose_tap_drill(parse_thread(name), **stated)


def tap_text(a: TapAdvice) -> str:
    rows = [
        f"{c.drill.name}: {figures(c.percent, c.oversize, c.oversize_percent, c.worst_percent)} "
        f"{c.within_class} {c.oversize_within_class}{' <' if c is a.recommended else ''}"
        for c in a.choices
    ]
    rows.append(f"{a.target.percent} {a.target.why} ({a.target.source}); {a.reason}; {a.limits_note}")
    return "\n".join([*rows, f"engaged {figure(a.engaged_threads)}", *(f"note: {n}" for n in a.notes)])


def percents() -> Iterator[str]:
    for name in ("0-80", "6-32", "1/4-20", "M4", "M24", "2 BA"):
        thread = parse_thread(name)
        for work in (None, "copper", "brass", "mild steel", "stainless", "aluminium", "cast iron"):
            row = []
            for depth in (None, 0.5, 1.0, 1.5, 2.0, 3.0):
                for formed in (False, True):
                    made = target_percent(
                        thread, material=None if work is None else material(work),
                        engagement=None if depth is None else depth * thread.major, formed=formed,
                    )  # fmt: skip
                    row.append(f"{made.percent:g}")
            yield f"{name} {work}: {' '.join(row)}"


def start_text(work: Material, kind: str, size: float) -> str:
    c = cutting_start(work, kind, diameter=size, pitch=0.7, teeth=3, slowest_rpm=100, fastest_rpm=2800.5)
    return f"{kind} {size:g}: {c.rpm} {figures(c.surface_speed, c.feed, c.chip)}{c.bound[:1]}"


def depths_text(work: Material) -> str:
    found = (milling_depths(work, diameter=d, set_up=s) for d in (1.0, 6.0, 16.0) for s in ("weak", "light", "rigid"))
    return "; ".join(figures(d.side, d.slot, d.stepover, d.finish, d.ceiling) for d in found)


def cutting() -> Iterator[str]:
    """Speeds, feeds and chips of every operation, depths, chip loads; and the feeds of drills."""
    for work in all_materials():
        kinds = [(kind.name, size) for kind in all_operations() for size in (2.0, 6.0, 20.0)]
        yield f"{work.name}: " + "; ".join(told(lambda k=k, w=work: start_text(w, *k)) for k in kinds)
        yield told(lambda w=work: depths_text(w))
        yield told(lambda w=work: " ".join(figure(chip_load(w, d)[0]) for d in (0.5, 1.0, 2.5, 4.0, 9.0, 30.0)))
        yield cutting_start(work, "mill", diameter=30.0).source
        yield cutting_start(work, "drill", diameter=0.5).source
    sizes = (0.5, 1.5875, 3.0, 3.175, 3.2, 6.35, 8.0, 12.7, 19.0, 25.4, 30.0)
    yield "; ".join(figures(*drill_feed(d)[:2]) for d in sizes)


def threads() -> dict[str, str]:
    return {"read": "\n".join(f"{t!r}: {told(lambda t=t: thread_text(t))}" for t in THREADS)}


def drills() -> dict[str, str]:
    return {
        "read": "\n".join(f"{t!r}: {told(lambda t=t: drill_text(t, None))}" for t in DRILLS),
        "read in inches": "\n".join(f"{t!r}: {told(lambda t=t: drill_text(t, 'in'))}" for t in DRILLS),
        "read in mm": "\n".join(f"{t!r}: {told(lambda t=t: drill_text(t, 'mm'))}" for t in DRILLS),
        "sizes": "\n".join(f"{t!r}: {told(lambda t=t: str(parse_size(t)))}" for t in DRILLS),
        "owned": "\n".join(f"{n}: {told(lambda n=n: owned_text(n))}" for n in SETS),
    }


def sizes() -> dict[str, str]:
    return {t: told(lambda t=t: size_text(t)) for t in SIZES}


def taps() -> dict[str, str]:
    found = {name: told(lambda make=make: tap_text(make())) for name, make in TAPS.items()}
    return found | {"percents": "\n".join(percents())}


def starts() -> dict[str, str]:
    return {"starts": "\n".join(cutting())}


KEPT: dict[str, Callable[[], dict[str, str]]] = {
    "threads": threads,
    "drills": drills,
    "sizes": sizes,
    "taps": taps,
    "cutting": starts,
}


def text_of(sections: dict[str, str]) -> str:
    return "".join(f"== {name}\n{body}\n" for name, body in sections.items())


def kept(file: str) -> str:
    """What was kept of a file when it was last read."""
    return (FOLDER / f"{file}.txt").read_text(encoding="utf-8")


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for file, make in KEPT.items():
        (FOLDER / f"{file}.txt").write_text(text_of(make()), encoding="utf-8")
