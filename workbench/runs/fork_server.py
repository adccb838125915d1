"""The process that imports the libraries once and forks each kernel from itself.

Started by `forked_kernel.ForkServer` as `python -m workbench.runs.fork_server FOLDER`. It reads
one JSON request a line from standard input and answers on standard output. The end of standard
input is the death of the runner, however it died: then every kernel is killed, FOLDER is removed
and the process ends, so that nothing is left behind.

A forked kernel differs from a fresh one in what was settled before the fork; `become_kernel` gives
it what a fresh one would have found (own random state, notebook display, inline figures).
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import json
import os
import pkgutil
import selectors
import shutil
import signal
import sys
from typing import Any, NoReturn

import workbench
from workbench.runs.collector import collect_rarely

PRELOAD = (
    "pandas",
    "scipy.stats",
    "scipy.optimize",
    "matplotlib.pyplot",
    "matplotlib_inline.backend_inline",
    "seaborn",
    "ipykernel.kernelapp",
    "ipykernel.ipkernel",
    "ipykernel.zmqshell",
    "ipykernel.iostream",
    "ipykernel.debugger",
    "pyarrow.acero",
    "pyarrow.dataset",
    "pyarrow.parquet",
    "pyarrow.substrait",
    "contourpy",
)
# what the libraries above import only once they are at work, in each kernel anew
AT_WORK = (
    "IPython.core.completerlib",
    "IPython.core.debugger",
    "IPython.core.logger",
    "IPython.core.oinspect",
    "IPython.extensions.storemagic",
    "encodings.utf_8_sig",
    "faulthandler",
    "matplotlib.style.core",
    "pandas.core.methods.to_dict",
    "pandas.core.reshape.reshape",
    "pdb",
    "runpy",
    "tornado.platform.asyncio",
)
# what writes files for other programs, and no notebook uses
UNUSED = (
    "workbench.article.checking",
    "workbench.article.formats.spreadsheets",
    "workbench.article.formats.word",
)
INLINE = "module://matplotlib_inline.backend_inline"
ROOMS = ("records", "inference", "castings", "claims", "worth", "study", "article")
NOTEBOOK_COLUMNS = 20  # what pandas shows outside a terminal, decided when it is imported


def main(folder: str) -> None:
    """Preload, say so, then serve requests until standard input ends."""
    collect_rarely()
    preload()
    gc.freeze()  # what is loaded stays shared between the kernels
    wake_read, wake_write = os.pipe()
    for pipe in (wake_read, wake_write):
        os.set_blocking(pipe, False)
    signal.signal(signal.SIGCHLD, lambda *_: None)
    signal.set_wakeup_fd(wake_write)
    kernels: set[int] = set()
    answer({"ready": True})
    with selectors.PollSelector() as selector:
        selector.register(0, selectors.EVENT_READ)
        selector.register(wake_read, selectors.EVENT_READ)
        pending = b""
        while True:
            ready = {key.fd for key, _ in selector.select()}
            if wake_read in ready:
                with contextlib.suppress(BlockingIOError):
                    os.read(wake_read, 4096)
                reap(kernels)
            if 0 in ready:
                read = os.read(0, 65536)
                if not read:
                    break
                *lines, pending = (pending + read).split(b"\n")
                for line in lines:
                    serve(json.loads(line), kernels, close=(wake_read, wake_write))
    finish(kernels, folder)


def preload() -> None:
    """Import what the notebooks use; one that is missing is left for the notebook to miss."""
    rooms = (
        module.name
        for module in pkgutil.walk_packages(workbench.__path__, "workbench.")
        if module.name.split(".")[1] in ROOMS and not module.name.startswith(UNUSED)
    )
    for name in (*PRELOAD, *AT_WORK, *rooms):
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    import matplotlib as mpl

    mpl.use(INLINE)  # looks once through all that is installed for figures elsewhere


def serve(request: dict[str, Any], kernels: set[int], close: tuple[int, ...]) -> None:
    """Fork a kernel, or pass a signal on to the process group of one that still runs."""
    if "signal" in request:
        if request["pid"] in kernels:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(request["pid"], request["signal"])
        return
    pid = os.fork()
    if pid == 0:
        try:
            become_kernel(request, close)
        except BaseException:  # the server's own stack lies below: nothing may reach it
            sys.excepthook(*sys.exc_info())
        finally:
            os._exit(1)
    # set here as well as in the child, so that a signal that comes at once finds the group
    with contextlib.suppress(PermissionError, ProcessLookupError):
        os.setpgid(pid, pid)
    kernels.add(pid)
    answer({"started": request["start"], "pid": pid})


def become_kernel(request: dict[str, Any], close: tuple[int, ...]) -> NoReturn:
    """Turn this fork into the kernel of `request`: own group, own streams, own state."""
    server = os.getppid()
    with contextlib.suppress(PermissionError):
        os.setpgid(0, 0)
    signal.set_wakeup_fd(-1)
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    signal.signal(signal.SIGINT, signal.default_int_handler)
    nothing = os.open(os.devnull, os.O_RDWR)
    log = os.open(request["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    # the server's pipes must have no second holder: their end is what tells of a death
    for old, new in ((nothing, 0), (log, 1), (log, 2)):
        os.dup2(old, new)
    for number in (nothing, log, *close):
        os.close(number)
    os.environ.clear()
    os.environ.update(request["env"])
    os.chdir(request["cwd"])

    import numpy as np
    import pandas as pd
    from ipykernel.kernelapp import IPKernelApp

    np.random.seed()  # noqa: NPY002  the legacy state was copied by the fork: all would draw alike
    pd.set_option("display.max_columns", NOTEBOOK_COLUMNS)
    sys.argv = ["ipykernel_launcher", *request["arguments"]]
    # with a parent handle the kernel ends when the server does, and prints no notice of itself
    app: Any = IPKernelApp.instance(parent_handle=server)
    app.initialize(request["arguments"])

    import matplotlib as mpl
    from matplotlib_inline import backend_inline

    mpl.use(INLINE)
    enable: Any = backend_inline._enable_matplotlib_integration
    enable()
    app.start()
    os._exit(0)


def reap(kernels: set[int]) -> None:
    """Tell the runner of every kernel that ended."""
    while kernels:
        try:
            pid, status = os.waitpid(-1, os.WNOHANG)
        except ChildProcessError:
            return
        if pid == 0:
            return
        kernels.discard(pid)
        answer({"ended": pid, "status": os.waitstatus_to_exitcode(status)})


def answer(message: dict[str, Any]) -> None:
    """Write one line to the runner; a runner that is gone is noticed at standard input."""
    with contextlib.suppress(BrokenPipeError):
        os.write(1, json.dumps(message).encode() + b"\n")


def finish(kernels: set[int], folder: str) -> None:
    """Kill every kernel and remove the folder of the sockets."""
    for pid in kernels:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(pid, signal.SIGKILL)
    for pid in kernels:
        with contextlib.suppress(ChildProcessError):
            os.waitpid(pid, 0)
    shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main(sys.argv[1])
    os._exit(0)  # all is tidied up: to take the libraries apart would hold the run up for 0.2 s
