"""Arguments in, exit code out; nothing else. Heavy rooms are opened only by the command in use.

Modules:

- `answers.py`: Commands that answer in the terminal: check, add, judge, worth, plan, place.
- `group.py`: The group of all commands, the options several of them share, and how a refusal ends.
- `reports.py`: Commands that write folders: run, article, demo, new.
"""

from workbench.cli import answers, reports
from workbench.cli.group import main

__all__ = ["answers", "main", "reports"]
