"""A writer's own draft read against the study: each finding with its line and a suggestion.

Modules:

- `check_draft.py`: A draft held against a study: every finding, in the order of the draft.
- `draft.py`: A writer's draft taken apart: paragraphs and sentences, each with its line.
- `facts.py`: What a draft is held against: the numbers of a study, and which claims a sentence is
  about.
- `finding.py`: What a check of a draft finds: the line, what is wrong with it, and what to write
  instead.
- `mentioned.py`: The numbers of a sentence: what each is followed by, and which number of the study
  it is.
- `number_checks.py`: Numbers of a draft that differ from the study's, or are rounded into a
  stronger claim.
- `overreach.py`: What a draft says beyond the numbers the study prints: of every block, by an end,
  in words.
- `passage_checks.py`: What a paragraph of a draft lacks: the interval of an effect, the blocks it
  rests on.
- `word_checks.py`: Words of a draft that claim more than the study shows.
"""
