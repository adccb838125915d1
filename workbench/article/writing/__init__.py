"""What the write-up says: blocks of text whose every number is a reference to one it came from.

Modules:

- `claim_figures.py`: The figures that carry the write-up: all claims at once, and each claim with
  its blocks.
- `closing.py`: The end of the write-up: what stays open, what it means for a builder, threats,
  cautions.
- `colophon.py`: What a hostile reader needs: the data, the versions, the digests, the seed, the
  references.
- `document.py`: The write-up as blocks of text, tables and figures, from which every format is
  rendered.
- `family_means.py`: The mean of each family, quantity by quantity, with its interval over blocks.
- `findings.py`: The verdict table, and a section for each claim: the third and longest form of a
  verdict.
- `material.py`: What a write-up is made from: the study, its verdicts as numbers, the register, the
  figures.
- `measured.py`: What was measured and how: counts, sampling, gauges and calibrations, what
  measuring leaves.
- `methods.py`: How it was done, with the works each method rests on.
- `number.py`: One number of the write-up: its full value, how it is printed, and where it comes
  from.
- `opening.py`: The head of the write-up: the verdicts in a line each, and what was claimed and by
  whom.
- `phrase.py`: A phrase: words and references to numbers, from a template whose own words hold no
  number.
- `references.py`: The standards and published methods the write-up refers to.
- `register.py`: The register: every number that enters the text is entered here first, with its
  origin.
- `reporting.py`: A verdict in the form statistical reviewers ask for.
- `sentences.py`: A verdict in plain English, at two of its three lengths: a line, and a paragraph.
- `statistic.py`: The test statistic of a verdict, where it has one: the distance to the margin in
  errors.
- `verdict_numbers.py`: The numbers of one verdict, entered in the register, and the names of what
  it compares.
- `write_up.py`: The whole write-up of a judged study, section by section.
"""
