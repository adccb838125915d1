"""What a reader needs to make a figure again: the study, its readings, the version, the seed."""

from __future__ import annotations

from importlib.metadata import version
from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.text import clean
from workbench.errors import Refusal

if TYPE_CHECKING:
    from workbench.study import Study

TITLE_LIMIT = 60
DIGEST_SHOWN = 8


def about(study: Study, *, seed: int) -> Answer:
    """Name the study at the head of a notebook, and what its numbers are made from."""
    check_seed(seed)
    files = ", ".join(f"{name} {digest[:DIGEST_SHOWN]}" for name, digest in study.digests.items())
    return Answer(
        paragraphs=(
            ("Study", study.title),
            ("Input files", f"{files} (the start of each SHA-256)"),
            ("Made with", f"block-workbench {version('block-workbench')}, seed {seed}"),
            *(("Look at first", doubt.sentence) for doubt in study.doubts),
        )
    )


def check_seed(seed: object) -> None:
    """Refuse what is no seed, before anything is drawn by it.

    Raises
    ------
    Refusal
        `bad_seed` where it is no whole number of 0 or more.
    """
    if not isinstance(seed, int) or isinstance(seed, bool) or seed < 0:
        raise Refusal("bad_seed", f"The seed is a whole number of 0 or more, not {seed!r}.")


def provenance(study: Study, *, seed: int) -> str:
    """Give one line for the foot of a figure; the digest is of all input files together."""
    from hashlib import sha256

    check_seed(seed)
    listed = "\n".join(f"{name} {digest}" for name, digest in sorted(study.digests.items()))
    inputs = sha256(listed.encode("utf-8")).hexdigest()[:DIGEST_SHOWN]
    return (
        f"{clean(study.title, TITLE_LIMIT)} · inputs {inputs} · "
        f"block-workbench {version('block-workbench')} · seed {seed}"
    )
