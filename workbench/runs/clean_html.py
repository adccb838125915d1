"""HTML from a notebook's output, rebuilt from the few elements that a table or a figure needs.

The package escapes what it takes from a study, and the pages forbid scripts; this is the third
wall. What is written is never what was read: elements and attributes not on the list are left out,
text is escaped anew, and every element opened is closed.
"""

from __future__ import annotations

import re
from html import escape
from html.parser import HTMLParser

TEXT = ("a", "abbr", "b", "br", "code", "del", "em", "i", "ins", "kbd", "mark", "q", "s", "samp")
MORE_TEXT = ("small", "span", "strong", "sub", "sup", "u", "var")
BLOCKS = (
    "blockquote",
    "details",
    "div",
    "figcaption",
    "figure",
    "hr",
    "img",
    "p",
    "pre",
    "section",
)
HEADINGS = ("h1", "h2", "h3", "h4", "h5", "h6", "summary")
LISTS = ("dd", "dl", "dt", "li", "ol", "ul")
TABLES = ("caption", "col", "colgroup", "table", "tbody", "td", "tfoot", "th", "thead", "tr")
ELEMENTS = frozenset(TEXT + MORE_TEXT + BLOCKS + HEADINGS + LISTS + TABLES)
EMPTY = frozenset(("br", "col", "hr", "img"))
SILENT = frozenset(("script", "style", "template", "title", "textarea", "iframe", "noscript"))
EVERYWHERE = frozenset(("class", "dir", "lang", "role", "style", "title"))
ATTRIBUTES = {
    "a": {"href"},
    "col": {"span"},
    "img": {"alt", "height", "src", "width"},
    "ol": {"start"},
    "td": {"colspan", "rowspan"},
    "th": {"abbr", "colspan", "rowspan", "scope"},
}
PICTURE = re.compile(r"data:image/(?:png|jpeg|gif|webp|svg\+xml);base64,[A-Za-z0-9+/=\s]*")
SIDE = re.compile(r"text-align:\s*(?:left|right|center)(?:;white-space:nowrap)?;?")
LINK = re.compile(r"(?:https?://|mailto:|#)", re.IGNORECASE)


def clean_html(text: str, *, alt: str) -> str:
    """Give `text` reduced to harmless HTML; a picture without words gets `alt`."""
    cleaner = Cleaner(alt)
    cleaner.feed(text)
    cleaner.close()
    return cleaner.result()


class Cleaner(HTMLParser):
    """Reads HTML and writes the part of it that is on the list."""

    def __init__(self, alt: str) -> None:
        super().__init__(convert_charrefs=True)
        self.alt = alt
        self.parts: list[str] = []
        self.open: list[str] = []
        self.silent: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Write the element if it is on the list."""
        if tag in SILENT:
            self.silent.append(tag)
        if self.silent or tag not in ELEMENTS:
            return
        kept = {
            name: value or ""
            for name, value in attrs
            if name in EVERYWHERE | ATTRIBUTES.get(tag, set()) and harmless(name, value or "")
        }
        if tag == "img":
            if "src" not in kept:
                return
            kept["alt"] = kept.get("alt", "").strip() or self.alt
        written = "".join(f' {name}="{escape(value)}"' for name, value in kept.items())
        self.parts.append(f"<{tag}{written}>")
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Treat `<p/>` as a browser does: as `<p>`."""
        self.handle_starttag(tag, attrs)

    def handle_endtag(self, tag: str) -> None:
        """Close the element, and what was left open inside it."""
        if self.silent:
            if tag == self.silent[-1]:
                self.silent.pop()
            return
        if tag in self.open:
            while True:
                closed = self.open.pop()
                self.parts.append(f"</{closed}>")
                if closed == tag:
                    return

    def handle_data(self, data: str) -> None:
        """Write text, escaped anew."""
        if not self.silent:
            self.parts.append(escape(data))

    def result(self) -> str:
        """Give what was written, everything closed."""
        while self.open:
            self.parts.append(f"</{self.open.pop()}>")
        return "".join(self.parts)


def harmless(name: str, value: str) -> bool:
    """Tell whether an attribute neither fetches, runs nor hides anything."""
    if name == "src":
        return PICTURE.fullmatch(value.strip()) is not None
    if name == "style":
        return SIDE.fullmatch(value.strip()) is not None
    if name == "href":
        return LINK.match(value.strip()) is not None
    return True
