"""A writer's draft taken apart: paragraphs and sentences, each with its line."""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass
from pathlib import Path

from markdown_it import MarkdownIt

from workbench.article.text import clean
from workbench.errors import RunError

LARGEST = 5_000_000  # bytes
BREAK = re.compile(r"(?<=[.!?])[\"”’)]*\s+(?=[A-Z“\"(])")
QUOTED = re.compile(r"“[^”]*”|\"[^\"]*\"|«[^»]*»")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """A sentence of a draft and the line it begins at."""

    line: int
    text: str

    @property
    def own(self) -> str:
        """The writer's own words: what stands in quotation marks is left out."""
        return QUOTED.sub(" ", self.text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """A paragraph, heading, list item or row of a table: its sentences."""

    sentences: tuple[Sentence, ...]

    @property
    def line(self) -> int:
        """The line it begins at."""
        return self.sentences[0].line

    @property
    def text(self) -> str:
        """All of its text."""
        return " ".join(sentence.text for sentence in self.sentences)


def read_draft(path: Path) -> tuple[Passage, ...]:
    """Read a draft in Markdown.

    Raises
    ------
    RunError
        When there is no such file, it is larger than a draft can be, or it is not UTF-8 text.
    """
    try:
        if path.stat().st_size > LARGEST:
            raise RunError(f"{path} is larger than {LARGEST:,} bytes: that is no draft.")
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise RunError(f"The draft {path} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError as error:
        raise RunError(f"The draft {path} is not UTF-8 text (byte {error.start}).") from None
    return passages(text)


def passages(text: str) -> tuple[Passage, ...]:
    """Take a text in Markdown apart; code, links and pictures leave their words."""
    parser = MarkdownIt("commonmark", {"html": False}).enable("table")
    found = []
    for token in parser.parse(text):
        if token.type == "inline" and token.map is not None:
            lines = [""]
            for child in token.children or ():
                if child.type in ("softbreak", "hardbreak"):
                    lines.append("")
                elif child.type != "image":
                    lines[-1] += child.content
            sentences = split(lines, token.map[0] + 1)
            if sentences:
                found.append(Passage(sentences=sentences))
    return tuple(found)


def split(lines: list[str], first: int) -> tuple[Sentence, ...]:
    """Split the lines of a passage into sentences; `first` is the number of its first line."""
    starts, text = [], ""
    for words in lines:
        starts.append(len(text))
        text += words + " "
    sentences, begin = [], 0
    for end in [*(match.end() for match in BREAK.finditer(text)), len(text)]:
        piece = text[begin:end]
        at = begin + len(piece) - len(piece.lstrip())
        if piece.strip():
            line = first + bisect_right(starts, at) - 1
            sentences.append(Sentence(line=line, text=clean(piece, LARGEST)))
        begin = end
    return tuple(sentences)
