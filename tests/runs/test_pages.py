from __future__ import annotations

from workbench.runs.pages import in_code


def test_words_between_backticks_are_code_and_all_else_is_text() -> None:
    assert in_code("see `workbench check`.") == "see <code>workbench check</code>."
    assert in_code("`<b>` & `") == "`&lt;b&gt;` &amp; `".replace(
        "`&lt;b&gt;`", "<code>&lt;b&gt;</code>"
    )
    assert "<script" not in in_code("`<script>alert(1)</script>`")
