"""The job: the whole file as one frozen value. Every length in it is an exact fraction of a millimetre."""

from typing import Any, Literal, Self

from pydantic import Field, ModelWrapValidatorHandler, PrivateAttr, model_validator

from holecam.job.models_cut import Pocket, Slot
from holecam.job.models_error import Chain, MarkingOut
from holecam.job.models_hole import OldHoles, Pattern
from holecam.job.models_machine import Machine, Setup, Tools
from holecam.job.models_mate import Mate
from holecam.job.models_part import Body, KeepOut, Limit, OtherHand, Part
from holecam.job.models_step_down import StepDown
from holecam.job.quantities import Day, Model, Name, Text, Texts, bare_numbers_in, unit_of_bare_numbers
from holecam.job.source import Source
from holecam.standards.drills import USUAL_SETS, Drill, owned_drills


class Job(Model):
    """A job file. Every length is a number in the job's unit, or text with a unit of its own."""

    title: Name
    """What the job is."""
    unit: Literal["in", "mm"]
    """What a bare number means."""
    hand: Text = ""
    """Which hand the part is, in words, with one tell-tale to see it by."""
    revision: Name | None = None
    """Revision of the job or drawing."""
    date: Day | None = None
    """Date to print on the sheet."""
    notes: Texts = ()
    """Anything else; printed."""
    machine: Machine = Machine()
    """The mill."""
    tools: Tools = Tools()
    """Tools at hand."""
    part: Part
    """The part that is drilled."""
    bodies: tuple[Body, ...] = Field(default=(), alias="body", max_length=50)
    """Other pieces worked in the same job, such as the former."""
    setup: Setup = Setup()
    """How the part is held and found."""
    other_hand: OtherHand | None = None
    """The mirrored part of a pair."""
    keep_outs: tuple[KeepOut, ...] = Field(default=(), alias="keep_out", max_length=2000)
    """What to stay away from: bends, joints, pockets, walls, clamps."""
    old_holes: tuple[OldHoles, ...] = Field(default=(), max_length=200)
    """Holes that exist."""
    patterns: tuple[Pattern, ...] = Field(default=(), alias="pattern", max_length=200)
    """New holes."""
    mates: tuple[Mate, ...] = Field(default=(), alias="mate", max_length=50)
    """Parts that are screwed on."""
    limits: tuple[Limit, ...] = Field(default=(), alias="limit", max_length=200)
    """Limits that this job sets for itself."""
    chains: tuple[Chain, ...] = Field(default=(), alias="chain", max_length=50)
    """Drawn and measured sizes: where is the error?"""
    marking_out: tuple[MarkingOut, ...] = Field(default=(), max_length=50)
    """Drawn outline against outline as made."""
    slots: tuple[Slot, ...] = Field(default=(), alias="slot", max_length=100)
    """Slots."""
    pockets: tuple[Pocket, ...] = Field(default=(), alias="pocket", max_length=100)
    """Pockets."""
    step_downs: tuple[StepDown, ...] = Field(default=(), alias="step_down", max_length=50)
    """Step-downs to a thin sheet."""

    _source: Source = PrivateAttr(default=Source())

    @model_validator(mode="wrap")
    @classmethod
    def _unit_first(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        """Read the unit before any length, so that a bare number has a meaning wherever it stands."""
        unit = data.get("unit") if isinstance(data, dict) else None
        with bare_numbers_in(unit if unit in ("in", "mm") else unit_of_bare_numbers()):
            return handler(data)

    @property
    def owned_drills(self) -> tuple[Drill, ...]:
        """The drills at hand, from small to large: those listed, or the sets that are usual with the job's unit."""
        return owned_drills(self.tools.drills or USUAL_SETS[self.unit], unit=self.unit)

    @property
    def source(self) -> Source:
        """Where the job came from: file, folder for drawings, fingerprint."""
        return self._source

    def with_source(self, source: Source) -> Self:
        """Return the same job with the place that it came from."""
        job = self.model_copy()
        job._source = source
        return job

    def pattern(self, name: str) -> Pattern:
        """Return the pattern of this name; ``KeyError`` when there is none (the reader has checked references)."""
        return {p.name: p for p in self.patterns}[name]

    def body(self, name: str | None) -> Part | Body:
        """Return the body of this name; ``None`` means the part."""
        return self.part if name is None else {b.name: b for b in self.bodies}[name]


def job_from_dict(data: dict[str, Any], *, unit: Literal["in", "mm"] | None = None, folder: str = "") -> Job:
    """Return a job built in Python from plain values, with the keys that a job file has.

    Parameters
    ----------
    data : dict
        As a TOML reader would give it; arrays, fractions and decimals are taken too.
    unit : {"in", "mm"}, optional
        Unit of bare numbers where ``data`` has no ``unit`` of its own.
    folder : str
        Where drawings are looked up.

    Raises
    ------
    InputError
        Something is wrong with the values; the message lists all of it (see :mod:`holecam.job.reader`).
    """
    from holecam.job.plain_values import plain_values
    from holecam.job.reader import check_data  # the reader knows how to word what pydantic finds

    values = plain_values(data)
    return check_data(values if unit is None else {"unit": unit, **values}, folder=folder)


class ChainFile(Model):
    """A file with nothing but chains of sizes, or the chains of a job."""

    title: Name
    """What was measured."""
    unit: Literal["in", "mm"]
    """What a bare number means."""
    notes: Texts = ()
    """Anything else; printed."""
    machine: Machine = Machine()
    """The mill."""
    chains: tuple[Chain, ...] = Field(alias="chain", min_length=1, max_length=50)
    """Drawn and measured sizes."""

    @model_validator(mode="wrap")
    @classmethod
    def _unit_first(cls, data: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        """Read the unit before any length."""
        unit = data.get("unit") if isinstance(data, dict) else None
        with bare_numbers_in(unit if unit in ("in", "mm") else unit_of_bare_numbers()):
            return handler(data)
