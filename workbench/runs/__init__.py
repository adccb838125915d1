"""Notebooks run headless: parameters checked first, the report, the manifest.

Modules:

- `article_run.py`: The write-up of a study as files: text, figures, tables, numbers, references,
  and the bundle.
- `batch.py`: Many items run one after another: done ones left, failing ones told, the rest never
  stopped.
- `batch_notebook.py`: One notebook run over many parameter sets of a study: every block, every
  claim, every duty.
- `batch_record.py`: What is kept of one item of a batch: from what it was made, and how it ended.
- `batch_sets.py`: The parameter sets of a notebook that is run over blocks, claims, duties or
  values given.
- `batch_studies.py`: Many studies run into one folder, each with a report of its own.
- `bundle.py`: The bundle for a sceptic: inputs, executed notebooks, the program, versions, how to
  rerun it.
- `clean_html.py`: HTML from a notebook's output, rebuilt from the few elements that a table or a
  figure needs.
- `collector.py`: The collector of dead cycles, set for processes that live for seconds and import
  much.
- `convert.py`: An executed notebook as one HTML page: offline, without scripts, each picture with
  its words.
- `environment.py`: What must be installed to run the workbench again: its needs, and the versions
  it ran with.
- `execute.py`: One notebook run by papermill: its own time-out, and a failure told in words with
  its cell.
- `fork_server.py`: The process that imports the libraries once and forks each kernel from itself.
- `forked_kernel.py`: Kernels forked from one process that has the libraries loaded: the runner's
  side of it.
- `index_page.py`: The front page of a report: verdicts in words, links to every notebook, what it
  was made from.
- `jobs.py`: The jobs of a run: in which order they start, how many at a time, what each leaves
  behind.
- `kernels.py`: The kernels of a run: this very Python, over sockets only its owner can open, in two
  makes.
- `letters.py`: A copy of a study without the names of people: letters in place of operators and
  sellers.
- `letters_collection.py`: A collection with letters for names: its faults rewritten, its additions
  recorded anew.
- `letters_workbook.py`: The readings of a workbook written anew: stored values only, without its
  author and comments.
- `manifest.py`: What a run was made from and with: enough to make it again and to see whether it is
  the same.
- `new_study.py`: A small study to fill in: an invented example with comments, sound as it stands.
- `notebook_libraries.py`: The notebook libraries, imported without the second that none of their
  users needs.
- `pages.py`: The pages of a report: one template, self-contained, no script, no address fetched.
- `parameters.py`: The parameters of each notebook, checked before a kernel starts.
- `place.py`: One block of a study placed: shown in the terminal, as JSON, or written as its sheet.
- `places.py`: Where the shipped notebooks and data are: beside the package, or inside an installed
  wheel.
- `plan.py`: Which notebook runs with which parameters: each once, or once a claim or a block.
- `plan_terminal.py`: What the terminal shows of plans: what would settle each unresolved claim, and
  what it costs.
- `progress.py`: What a run says while it works: one bar on a terminal, a line a notebook anywhere
  else.
- `report_folder.py`: The folder of a report: written aside, then moved into place, so that a killed
  run harms nothing.
- `runner.py`: A study run headless: its records reduced once, its claims judged, every notebook
  executed.
- `scrub.py`: Outputs without the traces of one run: folders of this machine and numbers of
  processes.
- `sheet.py`: The sheet of one block, to hand over with it: a page, a picture and a print of one
  leaf.
- `strip.py`: Notebooks without outputs: what is committed holds no numbers, only the code that
  makes them.
- `terminal.py`: What the terminal shows: tables of what is there, of faults, of verdicts.
- `terminal_added.py`: What the terminal shows of files added to a collection.
- `terminal_block.py`: What the terminal shows of one block: the tables of its report, then the
  cautions.
- `worth_terminal.py`: What the terminal shows of money: what a usable block costs, and whether the
  dear one pays.
"""
