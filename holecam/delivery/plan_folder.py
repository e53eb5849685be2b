"""From a job file to a folder of checked programs and papers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from msgspec.structs import replace

from holecam.delivery.folder import Delivered, deliver
from holecam.delivery.planned_job import OTHER_HAND, PlannedJob
from holecam.job.models import Job
from holecam.job.reader import read_job
from holecam.job.source import refuse_changed_files
from holecam.lengths import Unit
from holecam.output.layout_drawing import layout_dxf
from holecam.output.paper_template import paper_template
from holecam.output.picture_files import PICTURE_FILE, picture_files
from holecam.output.plan_json import plan_json
from holecam.output.run_sheet import run_sheet
from holecam.output.sheet_pdf import sheet_pdf
from holecam.output.sheet_stamp import stamp_file, stamp_name, stamp_of
from holecam.output.spreadsheet import coordinates_csv
from holecam.output.text_sheet import text_sheet
from holecam.plan.finding import Severity
from holecam.plan.motions import ProgramPlan
from holecam.plan.plan import Plan
from holecam.plan.work import OperationKind
from holecam.planning.plan_job import make_plans

RETIRED = ("*.nc", "*.ngc", "*.tap", "*.gcode", "*.cnc", "*.txt", f"*{PICTURE_FILE}*.svg")
"""Files of an earlier run that must not lie about when their program is withheld, or their cut left out, this time."""

TEMPLATE = "template.pdf"
SHEET = "sheet.html"

PAPERS: Mapping[str, Callable[[Plan], str | bytes]] = {
    SHEET: run_sheet,
    "sheet.pdf": sheet_pdf,
    TEMPLATE: paper_template,
    "layout.dxf": layout_dxf,
    "sheet.txt": text_sheet,
    "coordinates.csv": coordinates_csv,
    "plan.json": plan_json,
}


def plan_file(path: Path, *, unit: Unit | None = None) -> PlannedJob:
    """Return the plans of a job file with its checked programs; nothing is written.

    ``unit`` is what papers and messages speak, where it is not to be the job's own.

    Raises
    ------
    InputError
        The job cannot be read or planned; the message lists every problem. Or its file, or a drawing, was changed
        meanwhile: papers of two states of a job must not be mixed.
    """
    planned = plan_job(read_in_unit(path, unit))
    refuse_changed_files(planned.job.source)
    return planned


def read_in_unit(path: Path, unit: Unit | None) -> Job:
    """Return the job of a file; with ``unit`` its papers and messages speak that unit."""
    job = read_job(path)
    if unit is None or unit == job.unit:
        return job
    # Programs stay in the unit that the machine is used to: only papers and messages change theirs
    words = job.machine.program.model_copy(update={"unit": job.machine.program.unit or job.unit})
    machine = job.machine.model_copy(update={"program": words})
    return job.model_copy(update={"unit": unit, "machine": machine})


def plan_job(job: Job) -> PlannedJob:
    """Return the plans of a job that was read or built in Python, with its checked programs."""
    plans, programs = [], []
    for plan in make_plans(job):
        checked, texts = _checked_programs(plan)
        plans.append(checked)
        programs.append(texts)
    return PlannedJob(job, tuple(plans), tuple(programs))


def papers_of(planned: PlannedJob, *, printer_scale: tuple[float, float] = (1.0, 1.0)) -> dict[str, bytes]:
    """Return papers and programs of a planned job by file name.

    ``printer_scale`` is what the printer makes of a length, across and up the page; the template makes up for it.
    """
    files: dict[str, bytes] = {}
    for number, plan in enumerate(planned.plans):
        before = "" if number == 0 else OTHER_HAND
        for name, paper in PAPERS.items():
            content = paper(plan) if name != TEMPLATE else paper_template(plan, printer_scale=printer_scale)
            files[f"{before}{name}"] = content.encode("utf-8") if isinstance(content, str) else content
        for name, picture in picture_files(plan).items():
            files[f"{before}{name}"] = picture.encode("utf-8")
    files |= {name: text.encode("ascii") for name, text in planned.program_texts.items()}
    # Last of all: an open sheet that sees its new stamp finds everything else on the disk
    for sheet in [name for name in files if name.endswith(SHEET)]:
        files[stamp_name(sheet)] = stamp_file(stamp_of(files[sheet].decode("utf-8"))).encode("ascii")
    return files


def write_folder(planned: PlannedJob, folder: Path, *, printer_scale: tuple[float, float] = (1.0, 1.0)) -> Delivered:
    """Write papers and programs of a planned job into a folder; see :func:`holecam.delivery.folder.deliver`."""
    return deliver(folder, papers_of(planned, printer_scale=printer_scale), retire=RETIRED)


def write_trouble(folder: Path, trouble: str) -> Delivered:
    """Tell the sheets in a folder that the job can no longer be planned; the last good plan stays as it is.

    Nothing is written where no sheet is.
    """
    files: dict[str, bytes] = {}
    for name in (SHEET, f"{OTHER_HAND}{SHEET}"):
        if (folder / name).is_file():
            page = (folder / name).read_text("utf-8", errors="replace")
            files[stamp_name(name)] = stamp_file(stamp_of(page), trouble=trouble).encode("ascii")
    return deliver(folder, files) if files else Delivered(folder, (), (), ())


def _checked_programs(plan: Plan) -> tuple[Plan, dict[str, str]]:
    """Return the texts that passed their check, and the plan with what the check found."""
    from holecam.program.checking import check_program
    from holecam.program.writer import write_program

    texts: dict[str, str] = {}
    findings = list(plan.findings)
    refused: dict[str, str] = {}
    kept: list[ProgramPlan] = []
    for program in plan.programs:
        text = write_program(program, plan.dialect)
        result = check_program(text, program, plan.dialect)
        findings.extend(f.as_finding(program.name) for f in result.findings)
        stops = [f for f in result.findings if f.severity is Severity.STOP]
        if stops:
            refused[program.name] = f"its check found {stops[0].code}: {stops[0].message}"
        else:
            texts[program.name] = text
            kept.append(program)
    operations = []
    wanting: dict[tuple[OperationKind, str], str] = {}
    for operation in plan.operations:
        names = (operation.program, *operation.more_programs)
        why = next((refused[name] for name in names if name in refused), None)
        part_of = (operation.kind, operation.cut)
        if why is None and operation.cut and any(names):  # a second cutter or a clean-up would meet the whole metal
            why = wanting.get(part_of)
        elif why is not None:
            wanting[part_of] = f"it rests on {operation.program}, which is withheld"
        if why is not None:  # one pass of a step-down rests on those before it: all of them are withheld together
            operation = replace(operation, program="", more_programs=(), withheld=why)
            texts = {name: text for name, text in texts.items() if name not in names}
            kept = [program for program in kept if program.name not in names]
        operations.append(operation)
    return replace(plan, programs=tuple(kept), operations=tuple(operations), findings=tuple(findings)), texts
