"""``holecam error``: which measured section is wrong, by how much and how surely."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from holecam.cli.command_frame import app_for_command
from holecam.cli.options import AsJson, InUnit, show_json

app = app_for_command()


@app.command()
def error(
    file: Annotated[
        Path, typer.Argument(help="A job file with chains, or a file of chains alone.", show_default=False)
    ],
    unit: InUnit = None,
    as_json: AsJson = False,
) -> None:
    """Find the error: compare drawn and measured sizes, section by section, and say what can be known.

    Exit code 0: done. 1: the readings contradict each other and nobody can say where. 2: the file is wrong.
    """
    from holecam.job.reader import read_chains
    from holecam.output.chain_table import chain_facts, chain_table
    from holecam.output.plan_json import finding_facts
    from holecam.output.terminal_table import findings_text
    from holecam.plan.finding import Severity
    from holecam.planning.chains import answer_chain

    chains = read_chains(file)
    speak = unit.value if unit is not None else chains.unit
    answers = [answer_chain(chain, speak) for chain in chains.chains]
    findings = [f for a in answers for f in a.findings]
    if as_json:
        show_json(
            {
                "chains": [chain_facts(a.report) for a in answers],
                "findings": [finding_facts(f) for f in findings],
            }
        )
    else:
        for answer in answers:
            typer.echo(chain_table(answer.report, speak))
        typer.echo(findings_text(findings), nl=False)
    raise typer.Exit(1 if any(f.severity is Severity.STOP for f in findings) else 0)
