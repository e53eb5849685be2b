"""The machine and the dialect of its programs, from the job."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_machine import Machine
from holecam.lengths import MM_PER_INCH, MM_PER_UNIT, Unit, decimals_of, length_text
from holecam.lengths.dials import Dial
from holecam.plan.dialect import Dialect
from holecam.plan.facts import MachineFacts, Readout
from holecam.plan.finding import Finding, Severity
from holecam.plan.limits import Travel

USUAL_RESOLUTION: dict[str, Fraction] = {"in": MM_PER_INCH / 2000, "mm": Fraction(5, 1000)}
"""0.0005 in or 0.005 mm: the readout that is meant when the job names none (design page, section 4)."""

USUAL_SAFE_HEIGHT: dict[str, float] = {"in": 12.7, "mm": 12.0}
"""mm. As the job file promises where the machine states none."""


def machine_facts(job: Job) -> MachineFacts:
    """Return the machine as papers and programs need it."""
    machine = job.machine
    dial = dial_y = None
    if machine.dials is not None:
        dials = machine.dials
        dial = Dial(dials.lead, dials.divisions)
        dial_y = Dial(dials.lead_y or dials.lead, dials.divisions_y or dials.divisions)
    kind: Literal["dials", "readout", "cnc"] = "readout"
    if machine.kind == "cnc":
        kind = "cnc"
    elif dial is not None and machine.readout is None:
        kind = "dials"
    resolution = _resolution(machine, job.unit)
    senses = {a[1]: 1 if a[0] == "+" else -1 for a in machine.approach}
    spindle = machine.spindle
    return MachineFacts(
        kind=kind,
        readout=Readout(resolution, job.unit),
        approach=(senses["x"], senses["y"]),
        safe_height=float(machine.safe_height) if machine.safe_height is not None else USUAL_SAFE_HEIGHT[job.unit],
        backlash=float(max(machine.backlash)) if machine.backlash is not None else 0.0,
        dial=dial,
        slowest_rpm=spindle.slowest if spindle is not None else None,
        fastest_rpm=spindle.fastest if spindle is not None else None,
        rigid_tapping=machine.rigid_tapping,
        dial_y=dial_y,
    )


def _resolution(machine: Machine, unit: Unit) -> Fraction:
    """Return the readout's step; the usual one where the stated step is no round number in the unit of the papers."""
    if machine.readout is not None:
        try:
            decimals_of(machine.readout / MM_PER_UNIT[unit])
        except InputError:
            return USUAL_RESOLUTION[unit]
        return machine.readout
    return USUAL_RESOLUTION[unit]


def readout_findings(job: Job) -> tuple[Finding, ...]:
    """Return what there is to say of a readout whose step is no round number in the unit of the papers."""
    stated, used = job.machine.readout, _resolution(job.machine, job.unit)
    if stated is None or stated == used:
        return ()
    other: Unit = "mm" if job.unit == "in" else "in"
    step = f"{float(stated / MM_PER_UNIT[other]):g} {other}"
    words = {"in": "inches", "mm": "millimetres"}
    return (
        Finding(
            code="readout-step",
            severity=Severity.CAUTION,
            about="machine",
            message=(
                f"The step of the readout, {step}, is no round number of {words[job.unit]}, which this job is written "
                f"in. Places and depths are rounded to {length_text(float(used), job.unit)} instead: the readout "
                "cannot show them exactly."
            ),
            measured=float(stated),
            limit=float(used),
            source="job file",
            remedy=(
                f"Set the readout to {words[job.unit]} and state its step there, or write the job with "
                f'unit = "{other}".'
            ),
        ),
    )


def dialect_of(job: Job) -> Dialect:
    """Return how programs are written for the job's machine."""
    words = job.machine.program
    return Dialect(
        unit=words.unit or job.unit,
        decimals=words.decimals,
        cycles=words.cycles,
        arcs=words.arcs,
        arc_centers=words.arc_centres,
        line_number_step=words.line_numbers,
        program_number=words.program_number,
        comments=words.comments,
        tool_change=words.tool_change,
        end="M2" if words.ending.startswith("M2") else "M30",
        percent_signs=words.ending.endswith("percent signs"),
        rigid_tapping=job.machine.rigid_tapping,
    )


def travel_of(machine: Machine) -> Travel:
    """Return how far the machine moves, as limits of a program."""
    if machine.travel is None:
        return Travel()
    ends = {}
    for axis in ("x", "y", "z"):
        pair = getattr(machine.travel, axis)
        ends[axis] = None if pair is None else (float(pair[0]), float(pair[1]))
    return Travel(x=ends["x"], y=ends["y"], z=ends["z"])
