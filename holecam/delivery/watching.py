"""Plan a job again whenever it or a drawing that it names has changed.

The few files are looked at by their time, size and number, twice a second. That needs no library, works on network
drives, and sees every way of saving: in place, by renaming, in pieces. A change counts once two looks in a row find the
same: a file that is still being written is left alone until it rests.
"""

from __future__ import annotations

from pathlib import Path

from msgspec import Struct

from holecam.delivery.folder import Delivered
from holecam.delivery.plan_folder import plan_file, write_folder, write_trouble
from holecam.delivery.planned_job import PlannedJob
from holecam.errors import HolecamError, OutputError
from holecam.job.files import FileState, file_state, noting_reads
from holecam.lengths import Unit

SECONDS_BETWEEN_LOOKS = 0.5
"""Short for the person who saves; longer than an editor needs to write a job."""

States = dict[str, FileState | None]


class Outcome(Struct, frozen=True):
    """What came of planning once: a plan that was written, or what is wrong."""

    planned: PlannedJob | None = None
    delivered: Delivered | None = None
    trouble: str = ""

    @property
    def exit_code(self) -> int:
        """0 written, 1 something is withheld, 2 something is wrong, as for a single run."""
        if self.planned is None:
            return 2
        return 1 if self.planned.withholds else 0


class WatchedJob:
    """A job file that is planned again and again into one folder."""

    def __init__(
        self, job: Path, folder: Path, *, unit: Unit | None = None, printer_scale: tuple[float, float] = (1.0, 1.0)
    ) -> None:
        self.job, self.folder, self.unit, self.printer_scale = job, folder, unit, printer_scale
        self._planned_from: States = {}
        self._seen: States | None = None
        self._again = False

    @property
    def files(self) -> tuple[str, ...]:
        """The files that are looked at: the job first."""
        return tuple(self._planned_from)

    def plan(self) -> Outcome:
        """Plan the job as it stands, write the folder, and remember what was read.

        A job that cannot be planned leaves the folder as it is, but for the note to the open sheet.
        """
        self._seen, self._again = None, False
        with noting_reads() as noted:
            noted[str(self.job)] = file_state(str(self.job))
            try:
                planned = plan_file(self.job, unit=self.unit)
            except HolecamError as error:
                return self._troubled(str(error))
            else:
                self._planned_from = {}
            finally:
                # A job that broke before its drawings were reached still has those that it had
                self._planned_from |= noted
        try:
            delivered = write_folder(planned, self.folder, printer_scale=self.printer_scale)
        except OutputError as error:
            self._again = True
            return Outcome(trouble=str(error))
        except HolecamError as error:
            return self._troubled(str(error))
        return Outcome(planned, delivered)

    def changed(self) -> tuple[str, ...]:
        """Look once; return the files that have changed since they were read and rest now.

        The job's own name stands for a folder that could not be written and is to be tried again.
        """
        now = {file: file_state(file) for file in self._planned_from}
        rests, self._seen = now == self._seen, now
        if not rests:
            return ()
        found = tuple(file for file in now if now[file] != self._planned_from[file])
        return found or ((str(self.job),) if self._again else ())

    def mistaken(self, words: str) -> Outcome:
        """Tell the sheet of a mistake of this program; the next change of the job may do without it."""
        return self._troubled(words)

    def _troubled(self, words: str) -> Outcome:
        try:
            write_trouble(self.folder, words)
        except (OutputError, OSError) as error:
            words = f"{words}\n{error}"
        return Outcome(trouble=words)
