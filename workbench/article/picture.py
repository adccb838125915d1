"""A finished figure: its picture, the words for those who do not see it, and the numbers drawn."""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass, field
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from matplotlib.backends.backend_agg import FigureCanvasAgg

from workbench.article import style
from workbench.article.text import clean, in_notebook

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

ALT_LIMIT = 2000
LIGHTLY = 3  # of the nine levels of deflate; a drawing gets no smaller by more
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
FORMATS = ("png", "svg", "pdf", "csv")
NAMELESS = "A figure needs words for those who do not see it: {} is empty."


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One figure as a reader gets it.

    `alt` says type, what, counts and the main number with its interval; `caption` stands below the
    picture; `data` holds the numbers that were drawn, one row a mark. The same results give the
    same bytes in every process.
    """

    png: bytes = field(repr=False)
    alt: str
    caption: str
    data: pd.DataFrame = field(repr=False, compare=False)
    figure: Figure = field(repr=False, compare=False)

    def __post_init__(self) -> None:
        """Refuse a figure without words."""
        for name in ("alt", "caption"):
            if not getattr(self, name).strip():
                raise ValueError(NAMELESS.format(name))

    def html(self) -> str:
        """Give the figure as one self-contained HTML element; all text is escaped."""
        code = base64.b64encode(self.png).decode("ascii")
        return (
            "<figure>"
            f'<img alt="{escape(self.alt, quote=True)}" src="data:image/png;base64,{code}" '
            'style="max-width:100%;height:auto">'
            f"<figcaption>{escape(self.caption)}</figcaption></figure>"
        )

    def _repr_mimebundle_(self, include: object = None, exclude: object = None) -> dict[str, str]:
        """Show the figure with its alternative text in a notebook and in every page made of it."""
        return {"text/html": in_notebook(self.html()), "text/plain": self.alt}

    def save(self, folder: Path, name: str, formats: tuple[str, ...] = FORMATS) -> tuple[Path, ...]:
        """Write the figure as `folder/name.FORMAT` for print and web, and the numbers drawn as CSV.

        Raises
        ------
        ValueError
            When `name` is not a bare file name, or a format is not one of `FORMATS`.
        """
        if Path(name).name != name or not name.strip("."):
            raise ValueError(f"A figure is saved under a bare file name, not {name!r}.")
        folder.mkdir(parents=True, exist_ok=True)
        paths = []
        for form in formats:
            if form not in FORMATS:
                raise ValueError(f"A figure is saved as one of {', '.join(FORMATS)}, not {form!r}.")
            path = folder / f"{name}.{form}"
            path.write_bytes(self.encoded(form))
            paths.append(path)
        return tuple(paths)

    def encoded(self, form: str) -> bytes:
        """Give the bytes of the figure as `png`, `svg`, `pdf`, or of its numbers as `csv`."""
        if form == "csv":
            guarded = self.data.map(unspreadsheeted)
            return guarded.to_csv(index=False, lineterminator="\n").encode("utf-8")
        return self.png if form == "png" else rendered(self.figure, form, self.alt)


def finish(figure: Figure, *, alt: str, caption: str, data: pd.DataFrame) -> Picture:
    """Render `figure`; called inside `style.drawing()`, once everything is drawn."""
    layout = figure.get_layout_engine()
    if layout is not None:
        for axis in (axis for axes in figure.axes for axis in (axes.xaxis, axes.yaxis)):
            if not axis.get_label_text():
                axis.set_label_coords(0.5, 0.5)  # for no name no place is looked for
        layout.execute(figure)
        figure.set_layout_engine("none")  # laid out once: each rendering would move it a little
    alt, caption = clean(alt, ALT_LIMIT), clean(caption, ALT_LIMIT)
    return Picture(
        png=rendered(figure, "png", alt), alt=alt, caption=caption, data=data, figure=figure
    )


def rendered(figure: Figure, form: str, alt: str) -> bytes:
    """Render `figure` without date or version in it, the alternative text as its description."""
    metadata = {
        "png": {"Software": None, "Description": alt},
        "svg": {"Date": None, "Creator": None, "Description": alt},
        "pdf": {"CreationDate": None, "Creator": None, "Producer": None, "Subject": alt},
    }[form]
    stream = io.BytesIO()
    with style.drawing():
        if form == "png" and isinstance(figure.canvas, FigureCanvasAgg):
            # draws once, where savefig draws twice
            figure.canvas.print_png(  # type: ignore[no-untyped-call]
                stream, metadata=metadata, pil_kwargs={"compress_level": LIGHTLY}
            )
        else:
            figure.savefig(stream, format=form, metadata=metadata)
    return stream.getvalue()


def unspreadsheeted(cell: object) -> object:
    """Keep a text that begins like a formula from being run by a spreadsheet."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA_SIGNS) else cell
