"""A document rendered: Markdown, HTML, Word, spreadsheets, print figures, reference lists.

Modules:

- `bibliography.py`: The works referred to as BibTeX and as CSL JSON, for reference managers.
- `html.py`: The write-up as one HTML page: self-contained, no script, every number bound to its
  entry.
- `markdown.py`: The write-up as Markdown: whatever stands in it is text, never markup.
- `numbers_json.py`: `numbers.json`: every number of the text with its full value and where it comes
  from.
- `page.py`: The style sheet of the article's page: for screens wide and narrow, and for paper.
- `shown.py`: A section of the write-up as a notebook shows it, and the table of its numbers.
- `spreadsheets.py`: The tables of a write-up as CSV files and as one workbook: no cell is ever a
  formula.
- `word.py`: The write-up as a Word file: real headings, captions, tables and alternative texts.
"""
