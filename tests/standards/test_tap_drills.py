"""The choice of a tap drill against handbook charts and against brute force; notes and refusals."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.standards.drill_oversize import drill_oversize
from holecam.standards.drills import INCH_SETS, SETS, Drill, all_drills, drills_by_size, owned_drills, sort_by_size
from holecam.standards.materials import material
from holecam.standards.minor_limits import minor_limits, no_limits_reason
from holecam.standards.table import rows
from holecam.standards.tap_drills import choose_tap_drill, usual_sets
from holecam.standards.thread_engagement import usual_engagement
from holecam.standards.thread_names import parse_thread
from holecam.standards.thread_percent import stated_target, target_percent
from holecam.standards.threads import Thread, all_threads, thread_percent


@pytest.mark.outside_check(
    subject="tap drill choice",
    source="handbook and metric (ISO 2306) charts, 33 threads; British charts",
    closeness="the same drill",
    standing="memory",
)
@pytest.mark.parametrize(
    ("thread", "drill"),
    [
        # Tap drills for about 75 percent as handbooks and drill charts print them
        ("0-80", "3/64 in"), ("2-56", "#50"), ("4-40", "#43"), ("5-40", "#38"), ("6-32", "#36"), ("8-32", "#29"),
        ("10-24", "#25"), ("10-32", "#21"), ("1/4-20", "#7"), ("1/4-28", "#3"), ("5/16-18", "F"), ("5/16-24", "I"),
        ("3/8-16", "5/16 in"), ("3/8-24", "Q"), ("7/16-14", "U"), ("1/2-13", "27/64 in"), ("1/2-20", "29/64 in"),
        ("5/8-11", "17/32 in"), ("3/4-10", "21/32 in"), ("7/8-9", "49/64 in"), ("1-8", "7/8 in"),
        # ISO 2306 and metric charts
        ("M2", "1.6 mm"), ("M3", "2.5 mm"), ("M4", "3.3 mm"), ("M5", "4.2 mm"), ("M6", "5.0 mm"), ("M8", "6.8 mm"),
        ("M10", "8.5 mm"), ("M16", "14.0 mm"), ("M20", "17.5 mm"), ("M24", "21.0 mm"), ("M8x1", "7.0 mm"),
        ("M10x1.25", "8.8 mm"),
        # British charts: 1/4 BSF No. 4, 1/2 BSW letter Z, 5/16 BSW letter F; from memory
        ("1/4 BSF", "#4"), ("1/2 BSW", "Z"), ("5/16 BSW", "F"),
    ],
)  # fmt: skip
def test_choice_agrees_with_charts(thread: str, drill: str) -> None:
    assert choose_tap_drill(parse_thread(thread)).recommended.drill.name == drill


@pytest.mark.outside_check(
    subject="table drill_oversize",
    source="AND10387 (partly read): tolerance of a drilled hole; mean oversize of a handbook",
    closeness="exact",
    standing="published",
)
def test_oversize_figures_agree_with_each_other_and_their_source() -> None:
    """Handbook table, mean oversize at 1/4 in 0.004; AND10387: 0.125 +.004, 0.250 +.005, 0.500 +.006, 1.0 +.010."""
    assert drill_oversize(6.35).usual / 25.4 == pytest.approx(0.004)
    for inches, most in ((0.125, 0.004), (0.250, 0.005), (0.500, 0.006), (0.750, 0.008), (1.0, 0.010), (1.5, 0.010)):
        over = drill_oversize(inches * 25.4)
        assert over.most / 25.4 == pytest.approx(most)
        assert over.least / 25.4 == pytest.approx(-0.001)
        assert over.least < 0 < over.usual <= over.most
    for which in ("usual", "most"):
        amounts = [float(r["oversize_in"]) for r in rows("drill_oversize") if r["amount"] == which]
        assert amounts == sorted(amounts)


def test_advice_shows_neighbours_class_and_what_oversize_does() -> None:
    advice = choose_tap_drill(parse_thread("6-32"))
    assert [c.drill.name for c in advice.choices] == ["#39", "#38", "#37", "#36", "7/64 in", "#35", "#34"]
    assert [c.within_class for c in advice.choices] == [False, False, True, True, True, True, True]
    best = advice.recommended
    assert best is advice.choices[3]
    assert best.percent == pytest.approx(77.6, abs=0.05)
    # 0.1065 + 0.003 in: 100 (0.138 - 0.1095)/(1.299038/32)
    assert best.oversize_percent == pytest.approx(100 * (0.138 - 0.1095) * 32 / 1.299038, abs=0.01)
    assert best.worst_percent == pytest.approx(100 * (0.138 - 0.1105) * 32 / 1.299038, abs=0.01)
    assert best.oversize_within_class is True
    assert advice.reason == "nearest to 75 % among the drills owned that keep the minor diameter inside class 2B"
    assert "ASME B1.1" in advice.limits_note
    assert advice.notes == ()


def _best_by_brute_force(thread: Thread, drills: tuple[Drill, ...], target: float) -> set[float]:
    limits = minor_limits(thread)
    ceiling = 83.0 if thread.form.angle_deg == 60 else 90.0
    usable = [
        (d.diameter, thread_percent(thread, d.diameter))
        for d in drills
        if d.diameter < thread.major and 50 <= thread_percent(thread, d.diameter) <= ceiling
    ]
    inside = [u for u in usable if limits is None or limits.smallest - 1e-9 <= u[0] <= limits.largest + 1e-9]
    pool = inside or usable
    nearest = min((abs(p - target) for _, p in pool), default=None)
    return {d for d, p in pool if nearest is not None and abs(p - target) <= nearest + 1e-9}


@settings(max_examples=120, deadline=None)
@given(
    thread=st.sampled_from(all_threads()),
    drills=st.lists(st.sampled_from(all_drills()), min_size=1, max_size=120).map(lambda d: sort_by_size(set(d))),
    percent=st.sampled_from([55.0, 60.0, 70.0, 75.0, 80.0]),
)
def test_choice_agrees_with_brute_force(thread: Thread, drills: tuple[Drill, ...], percent: float) -> None:
    expected = _best_by_brute_force(thread, drills, percent)
    if not expected:
        with pytest.raises(InputError, match="no drill owned suits"):
            choose_tap_drill(thread, drills=drills, target=stated_target(percent))
        return
    advice = choose_tap_drill(thread, drills=drills, target=stated_target(percent))
    assert advice.recommended.drill.diameter in expected
    sizes = [c.drill.exact_diameter for c in advice.choices]
    assert sizes == sorted(set(sizes))
    assert advice.recommended in advice.choices
    assert all(c.drill in drills for c in advice.choices)
    for choice in advice.choices:
        assert choice.oversize_percent <= choice.percent
        assert choice.worst_percent <= choice.oversize_percent + 1e-9


@pytest.mark.parametrize("thread", all_threads(), ids=lambda t: t.name)
def test_every_standard_thread_gets_a_drill_from_the_usual_sets_or_all(thread: Thread) -> None:
    advice = choose_tap_drill(thread)
    assert 50 <= advice.recommended.percent <= 90
    if advice.recommended.within_class is False:
        assert any("the limits of class" in note for note in advice.notes)
    if advice.recommended.drill.set_name not in usual_sets(thread):
        assert any("all sets were searched" in note for note in advice.notes)


def test_usual_sets_follow_the_unit_of_the_thread() -> None:
    assert usual_sets(parse_thread("6-32")) == INCH_SETS
    assert usual_sets(parse_thread("M4")) == ("metric",)
    assert usual_sets(parse_thread("2 BA")) == ("number", "metric")
    assert usual_sets(parse_thread("3/16 x 40 ME")) == INCH_SETS


@pytest.mark.outside_check(
    subject=("table thread_percent", "percentage of thread, cut"),
    source="US Army TM 9-254 par. 4-27: 50 to 53 percent in small or deep holes; the rest common practice",
    closeness="exact",
    standing="published",
)
@pytest.mark.parametrize(
    ("thread", "what", "thickness", "percent"),
    [
        ("6-32", None, None, 75),
        # Thin and soft wants more, tough and small or deep wants less (TM 9-254: 50 to 53 percent)
        ("6-32", "copper", 2.0, 80),
        ("6-32", "brass", 3.0, 80),
        ("6-32", "brass", 6.0, 75),
        ("6-32", "soft aluminium", 3.0, 80),
        ("6-32", "aluminium", 3.0, 75),
        ("M3", "stainless steel", 4.0, 53),
        ("M8", "stainless steel", 8.0, 60),
        ("M8", "stainless steel", 13.0, 53),
        ("M8", "mild steel", 8.0, 70),
        ("M2", "mild steel", 2.0, 60),
        ("M8", "mild steel", 16.0, 60),
        ("M8", "cast iron", 12.0, 75),
        ("M8", "cast iron", 24.0, 65),
        ("M8", "beech", 24.0, 80),
    ],
)
def test_target_depends_on_material_depth_and_size(
    thread: str, what: str | None, thickness: float | None, percent: float
) -> None:
    found = target_percent(
        parse_thread(thread), material=None if what is None else material(what), engagement=thickness
    )
    assert found.percent == percent
    assert found.source
    assert found.why


def test_no_published_or_stated_target_leaves_the_bounds_of_the_source() -> None:
    for row in rows("thread_percent"):
        assert 50 <= float(row["percent"]) <= 83


def test_formed_taps_take_a_larger_drill_and_no_class_limits() -> None:
    cut, formed = (choose_tap_drill(parse_thread("1/4-20"), formed=f) for f in (False, True))
    assert formed.recommended.drill.name == "#1"
    assert formed.recommended.drill.diameter > cut.recommended.drill.diameter
    assert formed.recommended.within_class is None
    assert "forming tap" in formed.limits_note
    # 147.06 (D - d)/P
    assert formed.recommended.percent == pytest.approx(147.06 * (0.250 - 0.228) * 20, abs=1e-6)
    iron = choose_tap_drill(parse_thread("1/4-20"), formed=True, material=material("cast iron"))
    assert "a forming tap needs metal that flows: take a cutting tap in cast iron" in iron.notes
    with pytest.raises(InputError, match="no published drill size for a forming tap of BA"):
        choose_tap_drill(parse_thread("2 BA"), formed=True)


def test_engaged_threads_and_what_is_said_about_them() -> None:
    thin = choose_tap_drill(parse_thread("6-32"), material=material("copper"), engagement=0.635)
    assert thin.engaged_threads == pytest.approx(0.025 * 32)
    assert any("fewer than 3 do not hold" in note for note in thin.notes)
    assert any("in copper 2 D, 7.01 mm (0.276 in), is usual" in note for note in thin.notes)
    thick = choose_tap_drill(parse_thread("6-32"), material=material("mild steel"), engagement=4.7625)
    assert thick.engaged_threads == pytest.approx(6.0)
    assert not any("threads in" in note for note in thick.notes)


@pytest.mark.outside_check(
    subject="table thread_engagement",
    source="1 D steel, 1.5 D cast iron, brass and bronze, 2 D aluminium, zinc and plastic",
    closeness="exact",
    standing="common practice",
)
@pytest.mark.parametrize(
    ("what", "diameters"),
    [("mild steel", 1.0), ("brass", 1.5), ("cast iron", 1.5), ("aluminium", 2.0), ("copper", 2.0)],
)
def test_usual_engagement(what: str, diameters: float) -> None:
    """Common practice: 1 D steel, 1.5 D cast iron, brass and bronze, 2 D aluminium, zinc and plastic."""
    found = usual_engagement(parse_thread("M4"), material(what))
    assert (found.diameters, found.length) == (diameters, 4 * diameters)


def test_every_material_has_an_engagement_and_a_target() -> None:
    from holecam.standards.materials import all_materials

    for one in all_materials():
        assert usual_engagement(parse_thread("M4"), one).length > 0
        assert target_percent(parse_thread("M4"), material=one, engagement=5.0).percent > 0


def test_when_nothing_suits_the_error_says_what_would() -> None:
    with pytest.raises(
        InputError,
        match=r"6-32 UNC: no drill owned suits; 83 to 50 percent of thread take a drill of 2\.649 to 2\.990 mm "
        r"\(0\.1043 to 0\.1177 in\)\. The nearest owned are #40 and #30\.",
    ):
        choose_tap_drill(parse_thread("6-32"), drills=owned_drills(["#40", "#30", "1/4"]))
    with pytest.raises(InputError, match="None is owned"):
        choose_tap_drill(parse_thread("6-32"), drills=())


def test_when_only_a_drill_outside_the_class_suits_it_is_taken_and_said() -> None:
    advice = choose_tap_drill(parse_thread("6-32"), drills=owned_drills(["#32"]))
    assert advice.recommended.within_class is False
    assert "none of them keeps the minor diameter inside class 2B" in advice.reason
    assert "the hole is 0.0508 mm (0.002 in) above the limits of class 2B: a plug gauge would refuse it" in advice.notes
    assert any("it leaves 47 % of thread" in note for note in advice.notes)


@pytest.mark.parametrize(("name", "length"), [("M5", 2.4), ("M4", 2.1), ("M2.5", 1.35), ("M3.5", 1.8)])
def test_three_threads_and_the_usual_length_are_enough_to_the_last_digit(name: str, length: float) -> None:
    """2.4 / 0.8 is 2.9999999999999996 in floats: a length of just three threads was said to be fewer than three."""
    notes = choose_tap_drill(parse_thread(name), engagement=length).notes
    assert not any("do not hold" in note for note in notes)
    short = choose_tap_drill(parse_thread(name), engagement=length - 0.001).notes
    assert any("do not hold" in note for note in short)


def test_a_nearer_drill_outside_the_class_is_named() -> None:
    advice = choose_tap_drill(parse_thread("M3"), material=material("stainless"), engagement=6.0)
    assert advice.recommended.drill.name == "2.55 mm"
    assert "2.65 mm would be nearer with 54 %, but lies outside class 6H" in advice.notes


def test_a_far_choice_is_called_one() -> None:
    advice = choose_tap_drill(parse_thread("6-32"), drills=owned_drills(["#33"]))
    assert "no drill owned is near 75 %: this one gives 62 %" in advice.notes


def test_a_stated_percentage_beyond_the_bounds_moves_them_and_is_warned_of() -> None:
    advice = choose_tap_drill(parse_thread("M6"), target=stated_target(92))
    assert advice.recommended.drill.name == "5.0 mm"
    assert "4.8 mm would be nearer with 92 %, but lies outside class 6H" in advice.notes
    assert "so much thread adds hardly any strength and breaks taps" in advice.notes
    free = choose_tap_drill(parse_thread("7 x 0.73 60 deg"), target=stated_target(92))
    assert free.recommended.percent == pytest.approx(92, abs=5)
    for wrong in (0, 19.9, 100.1, float("nan")):
        with pytest.raises(InputError, match=r"percent of thread .*: expected 20 to 100"):
            stated_target(wrong)


def test_a_thickness_that_is_none_is_refused() -> None:
    for wrong in (0.0, -1.0, float("nan"), float("inf")):
        with pytest.raises(InputError, match=r"thickness .* mm: expected a positive length"):
            choose_tap_drill(parse_thread("M4"), engagement=wrong)


def test_all_sets_together_are_never_worse_than_one() -> None:
    for name in ("6-32", "M4", "2 BA", "1/4 BSW"):
        thread = parse_thread(name)
        every = choose_tap_drill(thread, drills=drills_by_size(SETS)).recommended
        for one in SETS:
            try:
                alone = choose_tap_drill(thread, drills=drills_by_size((one,))).recommended
            except InputError:
                continue
            if alone.within_class is not False:
                assert abs(every.percent - 75) <= abs(alone.percent - 75) + 1e-9


def test_a_stated_target_inside_the_bounds_does_not_widen_them() -> None:
    """1/4-20: 5.55 mm leaves (6.35 - 5.55)/1.6498 = 48.5 %, 4.95 mm 84.9 %: outside 50 to 83, whatever is asked."""
    thread = parse_thread("1/4-20")
    for size, percent in (("5.55 mm", 50.0), ("5.55 mm", 52.0), ("4.95 mm", 83.0), ("4.95 mm", 80.0)):
        with pytest.raises(InputError, match="no drill owned suits; 83 to 50 percent"):
            choose_tap_drill(thread, drills=owned_drills([size]), target=stated_target(percent))


def test_refusal_of_full_thread_names_the_basic_minor_diameter() -> None:
    """100 % of 1/4-20 is 6.35 - 1.299038 x 1.27 = 4.700 mm; a percentage above 100 has no hole."""
    with pytest.raises(InputError, match=r"take a drill of 4\.700 to 5\.525 mm"):
        choose_tap_drill(parse_thread("1/4-20"), drills=owned_drills(["3 mm", "6.3 mm"]), target=stated_target(100.0))


def test_a_hole_as_large_as_the_thread_leaves_none() -> None:
    """12 x 0.15: 11.9 mm leaves half a thread; cut 0.152 mm over its size (AND10387) it is larger than the screw."""
    best = choose_tap_drill(parse_thread("12 x 0.15 60 deg")).recommended
    assert best.drill.diameter + drill_oversize(best.drill.diameter).most > 12.0
    assert best.worst_percent == 0.0


def test_stated_percentages_run_from_twenty_to_a_hundred() -> None:
    assert [stated_target(percent).percent for percent in (20.0, 100.0)] == [20.0, 100.0]
    for percent in (19.99, 100.01, float("nan")):
        with pytest.raises(InputError, match="expected 20 to 100"):
            stated_target(percent)


def test_that_all_sets_were_searched_is_said_first() -> None:
    """A thread whose own sets hold no drill inside its limits, in too thin a sheet."""
    found = [choose_tap_drill(thread, engagement=thread.pitch) for thread in all_threads()]
    wider = [advice.notes for advice in found if any("all sets were searched" in note for note in advice.notes)]
    assert wider
    for notes in wider:
        assert len(notes) > 1
        assert notes[0].endswith("all sets were searched")


def test_why_no_limits_are_known_is_said() -> None:
    free = choose_tap_drill(parse_thread("7 x 0.75 47.5 deg"))
    assert free.limits is None
    assert free.limits_note == no_limits_reason(free.thread)
    assert free.limits_note
