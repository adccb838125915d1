"""A document rendered: Markdown, HTML, Word, spreadsheets, print figures, reference lists.

Modules:

- `html.py`: The write-up as one HTML page: self-contained, no script, every number bound to its
  entry.
- `markdown.py`: The write-up as Markdown: whatever stands in it is text, never markup.
- `numbers_json.py`: `numbers.json`: every number of the text with its full value and where it comes
  from.
- `page.py`: The style sheet of the article's page: for screens wide and narrow, and for paper.
"""
