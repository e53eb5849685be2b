"""A few random jobs of each kind are computed apart in every run, some hundred in the long one.

And the checks can fail: for each of ``small_faults.DAMAGES`` a small fault is put into jobs that were found right.
"""

from __future__ import annotations

import sys
from functools import lru_cache
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from kinds_of_jobs import KINDS, Trial, try_seed
from small_faults import DAMAGES, Damage

FEW = {"holes": 8, "slots": 6, "pockets": 4, "layouts": 4, "chains": 12} | {
    "step-downs": 4,
    "bolt-ups": 4,
    "changed-programs": 2,
    "papers": 8,
    "along": 16,
    "marking": 8,
}
"""Jobs of each kind in the ordinary run."""

MANY = range(500, 550)
"""Seeds of the long run, for each kind: others than the few."""


@lru_cache(maxsize=40)
def trial_of(kind: str, seed: int) -> Trial:
    """Return a trial, which several tests share."""
    return try_seed(kind, seed)


def _hold(kind: str, seeds: range) -> None:
    """Hold jobs of one kind: no faults, and not just refusals."""
    trials = [trial_of(kind, seed) for seed in seeds]
    assert {trial.seed: trial.account.faults for trial in trials if trial.account.faults} == {}
    assert sum(trial.account.planned for trial in trials) >= 0.8 * len(trials)
    assert sum(trial.account.figures for trial in trials) >= 5 * len(trials)


@pytest.mark.outside_check(
    subject=("reading of programs", "whole job", "hole circle", "drill point", "rigid fit"),
    source="an interpreter of RS-274 and places of holes written apart, random jobs (tests/apart)",
    closeness="half a step of readout and program; depths half a step",
    standing="mathematics",
)
def test_holes_are_where_and_as_deep_as_computed_apart() -> None:
    """Programs of holes."""
    _hold("holes", range(FEW["holes"]))


@pytest.mark.outside_check(
    subject=("slot", "words of a program", "arcs in a program"),
    source="a metal model with shapely (a GEOS library) and a grid of heights, random jobs (tests/apart)",
    closeness="gouge and leftover 2 steps of the program and 0.0011 mm (0.0041 mm), bites 0.03 mm",
    standing="library",
)
def test_slots_cut_what_they_may_and_must() -> None:
    """Programs of slots."""
    _hold("slots", range(FEW["slots"]))


@pytest.mark.outside_check(
    subject=("pocket: gouge and leftover", "offsets"),
    source="a metal model with shapely (a GEOS library) and a grid of heights, random jobs (tests/apart)",
    closeness="gouge and leftover 2 steps of the program and 0.0011 mm (0.0021 mm), bites 0.03 mm",
    standing="library",
)
def test_pockets_cut_what_they_may_and_must() -> None:
    """Programs of pockets."""
    _hold("pockets", range(FEW["pockets"]))


@pytest.mark.outside_check(
    subject=("inside bend", "hard floor", "step-down doubt", "sweep of a step-down"),
    source="the formulas of the inside bend and the hard floor over interpreted programs, random jobs (tests/apart)",
    closeness="no move below the hard floor; bend 2 steps of the program and 0.0011 mm",
    standing="mathematics",
)
def test_step_downs_stay_above_the_hard_floor_and_off_the_bend() -> None:
    """Programs of step-downs."""
    _hold("step-downs", range(FEW["step-downs"]))


@pytest.mark.outside_check(
    subject=("freedom", "rigid fit", "metal at edges and webs", "doubt of a reference", "roomiest place"),
    source="placements and distances (shapely, numpy) written apart, grids of shifts, random jobs (tests/apart)",
    closeness="places 2e-6 mm, every finding, nearest shift 2 steps of the readout",
    standing="library",
)
def test_layouts_lie_and_are_spoken_of_as_computed_apart() -> None:
    """Layouts."""
    _hold("layouts", range(FEW["layouts"]))


@pytest.mark.outside_check(
    subject=("bolt-up", "which hole to open", "play of a screw"),
    source="scipy, sequential quadratic programming from 12 beginnings, random jobs (tests/apart)",
    closeness="1e-5 better, 1e-4 worse",
    standing="library",
)
def test_bolt_ups_are_as_tight_as_sought_apart() -> None:
    """Bolt-ups."""
    _hold("bolt-ups", range(FEW["bolt-ups"]))


@pytest.mark.outside_check(
    subject="error in a chain",
    source="numpy's pseudo-inverse and scipy's chi-square, random jobs (tests/apart)",
    closeness="1e-6, normalised residuals 1e-5",
    standing="library",
)
def test_chains_are_adjusted_as_computed_apart() -> None:
    """Chains."""
    _hold("chains", range(FEW["chains"]))


@pytest.mark.outside_check(
    subject=("marking out", "papers"),
    source="rays, lines and circles written apart, shapely (a GEOS library) for areas, random jobs (tests/apart)",
    closeness="heights 2e-6 mm, what comes off 1e-4 mm, areas 0.01 mm2; every digit on paper",
    standing="library",
)
def test_markings_out_are_as_computed_apart() -> None:
    """Marking out."""
    _hold("marking", range(FEW["marking"]))


@pytest.mark.outside_check(
    subject=("offsets", "whole job"),
    source="lines of straight pieces and arcs beside one another, written apart, random jobs (tests/apart)",
    closeness="2e-6 mm",
    standing="mathematics",
)
def test_rows_along_a_line_lie_where_computed_apart() -> None:
    """Rows along an edge or a line."""
    _hold("along", range(FEW["along"]))


@pytest.mark.outside_check(
    subject=("papers", "dial turns", "drawings out", "backlash"),
    source="figures written apart; pdftotext, ezdxf and pypdf read the papers back, random jobs (tests/apart)",
    closeness="every digit; drawing 1e-5 mm, template 0.01 mm",
    standing="library",
)
def test_papers_say_the_figures_of_the_plan() -> None:
    """Papers."""
    _hold("papers", range(FEW["papers"]))


@pytest.mark.outside_check(
    subject=("reading of programs", "words of a program", "whole job"),
    source="an interpreter of RS-274 written apart judges the harm of slips in a program (tests/apart)",
    closeness="paths 0.35 mm, depths 0.01 mm",
    standing="mathematics",
)
def test_slips_in_a_program_that_do_harm_are_refused() -> None:
    """Changed programs."""
    _hold("changed-programs", range(FEW["changed-programs"]))


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_many_jobs_are_as_computed_apart(kind: str) -> None:
    """Some hundred jobs."""
    _hold(kind, MANY)


EACH_DAMAGE = pytest.mark.parametrize(
    ("kind", "damage", "word"), DAMAGES, ids=[f"{kind}-{damage.__name__}" for kind, damage, _ in DAMAGES]
)


def _find(kind: str, damage: Damage, word: str, seeds: range, jobs: int) -> None:
    """Damage as many jobs as are wanted; the check has to tell the fault of each."""
    for seed in seeds:
        trial = trial_of(kind, seed)
        if trial.account.faults or not trial.account.planned:
            continue
        damaged = damage(trial)
        if damaged is None:
            continue
        faults = trial.check(damaged).faults
        assert any(fault.startswith(word) for fault in faults), (seed, faults[:3])
        jobs -= 1
        if jobs == 0:
            return
    raise AssertionError(f"{jobs} jobs with room for this damage are wanting")


@EACH_DAMAGE
def test_the_check_finds_a_small_fault(kind: str, damage: Damage, word: str) -> None:
    """A check that cannot fail would make every figure worthless."""
    _find(kind, damage, word, range(25), 1)


@pytest.mark.slow
@EACH_DAMAGE
def test_the_check_finds_a_small_fault_in_many_jobs(kind: str, damage: Damage, word: str) -> None:
    """The same in the long run."""
    _find(kind, damage, word, range(100, 200), 6)
