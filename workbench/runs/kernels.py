"""The kernels of a run: this very Python, over sockets only its owner can open, in two makes.

`forked` kernels are forked from one process that has the libraries loaded; `plain` kernels start as
new processes. Both give the same outputs. Forking is safe where the libraries keep no threads or
system handles across it: that is known of Linux, so elsewhere kernels are plain. The environment
variable WORKBENCH_KERNELS (`forked` or `plain`) decides where it is set.
"""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import math
import os
import shutil
import socket
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from queue import Empty
from typing import Any

from jupyter_client.asynchronous.client import AsyncKernelClient
from jupyter_client.kernelspec import KernelSpec
from jupyter_client.manager import AsyncKernelManager
from jupyter_client.provisioning.local_provisioner import LocalProvisioner

from workbench.errors import RunError
from workbench.records.kept_run import REDUCTIONS
from workbench.records.lock import lock
from workbench.records.shelf import sweep

MAKES = ("forked", "plain")
CHOICE = "WORKBENCH_KERNELS"
PREFIX = "workbench-run-"
TEMPORARY, REDUCED = "tmp", "reduced"
PARENTS = tuple(dict.fromkeys((tempfile.gettempdir(), "/tmp")))  # noqa: S108  mkdtemp in it
LONGEST_PARENT = 70  # the whole path of a unix socket holds 104 bytes on macOS, 108 on Linux
# a history of what was typed is of no use to a notebook that is run, and costs a database
ARGUMENTS = ["-f", "{connection_file}", "--ignore-cwd", "--HistoryManager.enabled=False"]
SECONDS_TO_LISTEN, SECONDS_BETWEEN_LOOKS = 20.0, 0.004
SECONDS_TO_ANSWER, SECONDS_TO_ARRIVE = 1.0, 0.2
ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def kernel_make() -> str:
    """Tell which make of kernel a run here uses: `forked` or `plain`.

    Raises
    ------
    RunError
        When WORKBENCH_KERNELS holds another word.
    """
    chosen = os.environ.get(CHOICE, "")
    if chosen and chosen not in MAKES:
        raise RunError(f"{CHOICE} is {chosen!r}; it may be one of {', '.join(MAKES)}.")
    return chosen or ("forked" if sys.platform == "linux" else "plain")


@contextlib.contextmanager
def open_kernels(make: str | None = None) -> Iterator[type[WorkbenchKernelManager]]:
    """Give the class papermill starts kernels with, for the time of one run.

    Raises
    ------
    RunError
        When `make` is neither of the two.
    """
    make = make or kernel_make()
    if make not in MAKES:
        raise RunError(f"kernels may be {', '.join(MAKES)}, not {make!r}.")
    with socket_folder() as folder:
        if make == "plain":
            with started_processes() as started:
                yield manager_class(folder, PlainProvisioner, started=started)
            return
        from workbench.runs.forked_kernel import ForkProvisioner, ForkServer

        with ForkServer(folder, kernel_environment(folder)) as server:
            yield manager_class(folder, ForkProvisioner, server=server)


@contextlib.contextmanager
def kernels_of(
    make: str, shared: type[WorkbenchKernelManager] | None
) -> Iterator[type[WorkbenchKernelManager]]:
    """Give those `shared` by runs that follow one another, else kernels of the run's own.

    Either way what the run has kept of its study goes with it.
    """
    if shared is None:
        with open_kernels(make) as own:
            yield own
        return
    try:
        yield shared
    finally:
        shutil.rmtree(shared.folder / REDUCED, ignore_errors=True)


def kernel_environment(folder: Path) -> dict[str, str]:
    """Give the environment of a kernel: what could make two runs differ is fixed.

    The order of sets and the number of threads (and so the last bits of sums) are the same
    everywhere, and neither start-up files nor history nor a plotting choice of the user's own
    reach a kernel. What a kernel writes aside goes when `folder` does.
    """
    environment = {name: text for name, text in os.environ.items() if name != "MPLBACKEND"}
    environment |= dict.fromkeys(ONE_THREAD, "1")
    environment |= {
        "PYTHONHASHSEED": "0",
        "PYTHONSAFEPATH": "1",  # a study's folder must not lend modules to a kernel
        "IPYTHONDIR": str(folder / "ipython"),
        "TMPDIR": str(folder / TEMPORARY),
        REDUCTIONS: str(folder / REDUCED),
    }
    return environment


class WorkbenchKernelClient(AsyncKernelClient):
    """A client of one kernel that goes ahead as soon as the kernel does."""

    async def wait_for_ready(self, timeout: float | None = None) -> None:
        """Wait until the kernel answers and what it puts out arrives.

        The method it stands for then waits a fifth of a second for anything more put out, to have
        it out of the way; what belongs to no cell, nbclient leaves out in any case.

        Raises
        ------
        RuntimeError
            When the kernel is gone, or has not answered in `timeout` seconds.
        """
        latest = math.inf if timeout is None else time.monotonic() + timeout
        while True:
            self.kernel_info()
            with contextlib.suppress(Empty):
                await self.get_shell_msg(timeout=SECONDS_TO_ANSWER)
                await self.get_iopub_msg(timeout=SECONDS_TO_ARRIVE)
                return
            if not await self.is_alive():
                raise RuntimeError("it ended before it answered")
            if time.monotonic() > latest:
                raise RuntimeError(f"it has not answered in {timeout:g} seconds")


class WorkbenchKernelManager(AsyncKernelManager):
    """A manager of one kernel over unix sockets (or local ports where there are none)."""

    folder: Path
    numbers: itertools.count[int]
    provisioner_class: type[LocalProvisioner]

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.place = self.folder / str(next(self.numbers))
        self.place.mkdir(mode=0o700)
        self.log_file = self.place / "kernel.log"
        self.connection_file = str(self.place / "kernel.json")
        if hasattr(socket, "AF_UNIX"):
            self.transport = "ipc"
            self.ip = str(self.place / "s")
        # not looked up by name: a kernel of that name in the user's home may be another Python
        self._kernel_spec = KernelSpec(
            argv=[sys.executable, "-m", "ipykernel_launcher", *ARGUMENTS],
            display_name="Python 3",
            language="python",
        )

    async def _async_pre_start_kernel(self, **kwargs: Any) -> Any:
        """Start with the environment of a run, through the provisioner of this make."""
        self.kernel_id = f"workbench-{self.place.name}"
        self.provisioner = self.provisioner_class(
            kernel_id=self.kernel_id, kernel_spec=self.kernel_spec, parent=self
        )
        kwargs["env"] = kernel_environment(self.folder)
        return await super()._async_pre_start_kernel(**kwargs)

    def client(self, **kwargs: Any) -> Any:
        """Give a client of the kernel, of our class whatever class nbclient has named."""
        self.client_factory = WorkbenchKernelClient
        return super().client(**kwargs)

    async def listening(self) -> None:
        """Wait until the kernel just started listens, or is gone, or takes unusually long.

        A client that finds no socket to connect to tries again only a tenth of a second later.
        """
        if self.transport != "ipc":
            return
        sockets = [Path(f"{self.ip}-{port}") for port in self.ports]
        latest = time.monotonic() + SECONDS_TO_LISTEN
        while time.monotonic() < latest and not all(socket.exists() for socket in sockets):
            if self.provisioner is None or await self.provisioner.poll() is not None:
                return
            await asyncio.sleep(SECONDS_BETWEEN_LOOKS)


class PlainProvisioner(LocalProvisioner):
    """Starts a kernel as a new process; what it says to the terminal goes to its log."""

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> Any:
        """Start the process."""
        manager: Any = self.parent
        with manager.log_file.open("ab") as log:
            streams = {"stdout": log, "stderr": log}
            connection = await super().launch_kernel(cmd, **kwargs | streams)
        manager.started.append(self.process)
        await manager.listening()
        return connection


@contextlib.contextmanager
def started_processes() -> Iterator[list[Any]]:
    """Keep the list of the processes started in the block; whatever still runs is killed."""
    started: list[Any] = []
    try:
        yield started
    finally:
        for process in started:
            if process.poll() is None:
                process.kill()
                process.wait()


def manager_class(
    folder: Path, provisioner: type[LocalProvisioner], **shared: Any
) -> type[WorkbenchKernelManager]:
    """Give the class papermill makes the managers of one run from; it takes no arguments of ours.

    `next` on the counter is one step, whatever the number of threads.
    """
    own = {"folder": folder, "numbers": itertools.count(1), "provisioner_class": provisioner}
    return type("RunKernelManager", (WorkbenchKernelManager,), own | shared)


@contextlib.contextmanager
def socket_folder() -> Iterator[Path]:
    """Make the folder of the sockets, its path short enough for them; it goes with the block."""
    for place in PARENTS:
        sweep(Path(place), PREFIX)
    parent = next((p for p in PARENTS if len(os.fsencode(p)) <= LONGEST_PARENT), None)
    if parent is None:
        raise RunError(f"The path of the temporary folder is too long for sockets: {PARENTS[0]}")
    folder = Path(tempfile.mkdtemp(prefix=PREFIX, dir=parent)).resolve()
    try:
        (folder / TEMPORARY).mkdir()
        with lock(folder):
            yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
