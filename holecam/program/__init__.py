"""G-code: write a planned program in a machine's dialect, read any program back, check it against plan and limits."""

from holecam.program.account import ProgramAccount, StopAccount, ToolAccount
from holecam.program.checking import CheckResult, check_program, verify_text
from holecam.program.job_mark import job_mark_finding
from holecam.program.program_findings import CODES, ProgramFinding
from holecam.program.reader import Reading, Refused, read_program
from holecam.program.writer import write_program

__all__ = [
    "CODES",
    "CheckResult",
    "ProgramAccount",
    "ProgramFinding",
    "Reading",
    "Refused",
    "StopAccount",
    "ToolAccount",
    "check_program",
    "job_mark_finding",
    "read_program",
    "verify_text",
    "write_program",
]
