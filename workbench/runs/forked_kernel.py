"""Kernels forked from one process that has the libraries loaded: the runner's side of it."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path
from types import TracebackType
from typing import Any

from jupyter_client.provisioning.local_provisioner import LocalProvisioner

from workbench.errors import RunError

LOST = -int(getattr(signal, "SIGKILL", 9))
SECONDS_TO_END = 5.0
LAUNCHER = 3  # the words of a kernel's command before its own arguments: python -m launcher


class ForkServer:
    """The process to fork from, as long as the `with` block lasts; it loads while others work."""

    def __init__(self, folder: Path, environment: dict[str, str]) -> None:
        self.changed = threading.Condition()
        self.ready = False
        self.gone = False
        self.pids: dict[str, int] = {}
        self.statuses: dict[int, int] = {}
        self.log_file = folder / "server.log"
        with self.log_file.open("wb") as log:
            self.process = subprocess.Popen(  # noqa: S603  our own module, by our own Python
                [sys.executable, "-m", "workbench.runs.fork_server", str(folder)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=log,
                env=environment,
                cwd=folder,
                start_new_session=True,  # Ctrl-C reaches the runner alone, which ends the server
            )
        self.listener = threading.Thread(target=self.listen, daemon=True)
        self.listener.start()

    def __enter__(self) -> ForkServer:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End the server, and with it every kernel that still runs."""
        with contextlib.suppress(OSError):
            self.pipe_in.close()
        if not self.ready:  # still loading, and no kernel can have been forked yet
            self.process.kill()
        try:
            self.process.wait(SECONDS_TO_END)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self.listener.join()
        self.pipe_out.close()

    @property
    def pipe_in(self) -> Any:
        """The pipe to the server."""
        assert self.process.stdin is not None
        return self.process.stdin

    @property
    def pipe_out(self) -> Any:
        """The pipe from the server."""
        assert self.process.stdout is not None
        return self.process.stdout

    def listen(self) -> None:
        """Take in what the server says until it ends; then every kernel is lost with it."""
        for line in self.pipe_out:
            message = json.loads(line)
            with self.changed:
                if "ready" in message:
                    self.ready = True
                elif "started" in message:
                    self.pids[message["started"]] = message["pid"]
                else:
                    self.statuses[message["ended"]] = message["status"]
                self.changed.notify_all()
        with self.changed:
            self.gone = True
            self.changed.notify_all()

    def ask(self, request: dict[str, Any]) -> None:
        """Send one request."""
        with self.changed, contextlib.suppress(BrokenPipeError):
            self.pipe_in.write(json.dumps(request).encode() + b"\n")
            self.pipe_in.flush()

    def start(self, name: str, **request: Any) -> int:
        """Have a kernel forked and give its process id.

        Raises
        ------
        RunError
            When the server has ended.
        """
        self.ask({"start": name, **request})
        with self.changed:
            self.changed.wait_for(lambda: self.gone or name in self.pids)
            if name in self.pids:
                return self.pids[name]
        raise RunError(
            f"The process that kernels are forked from has ended: {last_line(self.log_file)}"
        )

    def status(self, pid: int) -> int | None:
        """Give the exit status of a kernel, None while it runs."""
        with self.changed:
            return self.statuses.get(pid, LOST if self.gone else None)

    def wait(self, pid: int, seconds: float | None = None) -> int:
        """Wait for the end of a kernel, for `seconds` at most, and give its exit status."""
        with self.changed:
            self.changed.wait_for(lambda: self.gone or pid in self.statuses, seconds)
            return self.statuses.get(pid, LOST)


class ForkedProcess:
    """One forked kernel, with the part of `subprocess.Popen` a provisioner uses."""

    stdin = stdout = stderr = None

    def __init__(self, server: ForkServer, pid: int) -> None:
        self.server = server
        self.pid = pid

    def poll(self) -> int | None:
        """Give the exit status, None while it runs."""
        return self.server.status(self.pid)

    def wait(self) -> int:
        """Wait for the end."""
        return self.server.wait(self.pid)

    def send_signal(self, number: int) -> None:
        """Signal the kernel and what it started; the server knows whether it still runs.

        One that is killed ends at once, and is waited for: whoever finds it alive still looks again
        a tenth of a second later.
        """
        self.server.ask({"signal": int(number), "pid": self.pid})
        if number == -LOST:
            self.server.wait(self.pid, SECONDS_TO_END)

    def kill(self) -> None:
        """Kill the kernel."""
        self.send_signal(signal.SIGKILL)

    def terminate(self) -> None:
        """Ask the kernel to end."""
        self.send_signal(signal.SIGTERM)


class ForkProvisioner(LocalProvisioner):
    """Starts a kernel by a fork where jupyter_client starts a process."""

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> Any:
        """Fork the kernel; `pgid` stays unset, so every signal goes by way of the server."""
        manager: Any = self.parent
        self.cwd = kwargs.get("cwd") or os.getcwd()
        pid = manager.server.start(
            manager.kernel_id,
            arguments=cmd[LAUNCHER:],
            env=kwargs["env"],
            cwd=str(self.cwd),
            log=str(manager.log_file),
        )
        self.process = ForkedProcess(manager.server, pid)  # type: ignore[assignment]  # same use
        self.pid = pid
        await manager.listening()
        return self.connection_info


def last_line(path: Path) -> str:
    """Give the last line of a log, where a process that failed says why."""
    with contextlib.suppress(OSError):
        lines = path.read_text(encoding="utf-8", errors="replace").split("\n")
        for line in reversed(lines):
            if line.strip():
                return line.strip()
    return "it said nothing"
