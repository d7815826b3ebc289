"""The files of a run's shots, written by a thread of their own while the run's consequences are worked out."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import ExitStack, contextmanager
from pathlib import Path
from threading import Event

from flightsim.errors import stop_if_asked
from flightsim.report.pages.folder import folder_beside, not_written
from flightsim.study.run.crew import TICK
from flightsim.study.run.result import RunResult
from flightsim.study.run.run_files import write_shot_files


class _GivenUpError(Exception):
    """Nobody waits for the files any more."""


class ShotsAhead:
    """Files on their way, in a folder beside the place where the result will be."""

    def __init__(self, pool: ThreadPoolExecutor, folder: Path, as_csv: bool | None) -> None:
        self._pool, self._folder, self._as_csv = pool, folder, as_csv
        self._writing: Future[None] | None = None
        self._given_up = Event()

    def begin(self, result: RunResult) -> None:
        """Begin to write; what comes to be known of the run later is in none of these files."""
        self._writing = self._pool.submit(
            write_shot_files, result, self._folder, self._as_csv, between=self._while_wanted
        )

    def _while_wanted(self) -> None:
        if self._given_up.is_set():
            raise _GivenUpError

    def move_into(self, building: Path) -> bool:
        """Move the files to where a result is built, once they are whole; False where none were begun.

        Raises OSError, and what we are asked to end with.
        """
        if self._writing is None:
            return False
        while not wait((self._writing,), TICK).done:
            stop_if_asked()
        self._writing.result()
        self._writing = None
        for file in sorted(self._folder.iterdir()):
            file.rename(building / file.name)
        return True

    def give_up(self) -> None:
        """What is still written is not wanted any more."""
        self._given_up.set()


@contextmanager
def shots_ahead(out: Path, as_csv: bool | None) -> Iterator[ShotsAhead]:
    """Room for the files of a run that goes to `out`; when the block ends nothing of it is left.

    as_csv: as in `write_data`. Raises BadInputError where nothing can be written.
    """
    with ExitStack() as stack:
        try:
            folder = stack.enter_context(folder_beside(out.resolve()))
        except OSError as error:
            raise not_written(out, error) from error
        ahead = ShotsAhead(stack.enter_context(ThreadPoolExecutor(1, "writing")), folder, as_csv)
        stack.callback(ahead.give_up)
        yield ahead
