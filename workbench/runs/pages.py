"""The pages of a report: one template, self-contained, no script, no address fetched."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

TEMPLATES = Path(__file__).resolve().parent / "templates"
CAUTIONS = (
    "Wall and deck limits are common practice, not a standard: the limit of a block depends on "
    "its design, its fuel and its duty.",
    "A thickness map does not find cracks, porosity or corrosion: pressure test and crack "
    "detection remain.",
    "Final judgement rests with a qualified machinist or engineer who has the block in hand, and "
    "with the rules of the series or the law of the place.",
)


@lru_cache(maxsize=1)
def environment() -> Environment:
    """Give the templates; whatever is put into them is escaped, and a missing name is an error."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["code"] = in_code
    return made


def in_code(text: str) -> Markup:
    """Give text escaped, with what stands between backticks as code, as it stands in sentences."""
    return Markup(re.sub("`([^`<>]+)`", r"<code>\1</code>", str(escape(text))))  # noqa: S704


def page(template: str, **values: Any) -> str:
    """Fill one template; the style sheet stands in the page itself."""
    css = (TEMPLATES / "page.css").read_text(encoding="utf-8")
    return (
        environment()
        .get_template(template)
        .render(
            css=Markup(css),  # noqa: S704  our own file
            **values,
        )
    )


def stream_page(template: str, path: Path, **values: Any) -> None:
    """Fill one template into a file, a piece at a time: for pages as long as what they list."""
    css = (TEMPLATES / "page.css").read_text(encoding="utf-8")
    stream = (
        environment()
        .get_template(template)
        .stream(
            css=Markup(css),  # noqa: S704  our own file
            **values,
        )
    )
    with path.open("w", encoding="utf-8") as file:
        file.writelines(stream)
