"""What it is worth: cost of a usable block, break-even, looking again, what to measure next.

Modules:

- `answer.py`: Is it worth its money: every family, every pair and the next step, for one duty of a
  study.
- `as_json.py`: The answer about money as plain values: full precision, null where there is no
  number.
- `break_even.py`: At which price, and at which share of fit blocks, a family would cost as much as
  another.
- `cheapest_plan.py`: The cheapest further measuring that would settle a claim, within the blocks
  that exist.
- `claim_study.py`: What a plan for a claim rests on: its difference, the spreads, the counts, the
  shared error.
- `compare.py`: The premium block against the ordinary one: which is cheaper per usable block, and
  how surely.
- `cost.py`: What a usable block of a family costs: on average, this once, and how sure that is.
- `draws.py`: Draws of all that is uncertain in a purchase, made once and shared by all questions
  asked of it.
- `error_bound.py`: Which plans can reach a power at all, told quickly by the largest error that
  will do.
- `family_prices.py`: What a block of one family costs and brings, in one currency, and how it
  enters a purchase.
- `fit_share.py`: What is known of the share of a family's blocks that are fit for a duty: by count,
  by model.
- `information.py`: Buy now, inspect some more blocks first, or walk away: the value of looking
  against its fee.
- `judged_shares.py`: The shares of fit blocks of a study: each family held against each duty the
  study states.
- `measuring_costs.py`: What measuring costs: the study's own money and hours, for one claim and for
  each plan.
- `measuring_plan.py`: What more measuring would do for a claim: the error of the enlarged study,
  its power, assurance.
- `money_tables.py`: `[worth]` and the money keys of `[families.NAME]` in `study.toml`, each with
  its type.
- `outlook_words.py`: What a plan would show, when to look on its way, and what was asked beside it,
  in words.
- `plan_claims.py`: What to measure next: for each open claim of a study the cheapest measuring that
  settles it.
- `plan_json.py`: What to measure next, as plain values.
- `plan_outlook.py`: What a plan would show beside settling its claim: how narrow an interval, how
  small a difference.
- `plan_words.py`: What to measure next, in words.
- `prices.py`: The prices of a study in one currency: what is stated, what is missing, what looks
  odd.
- `sensitivity.py`: Which input moves the choice between premium and ordinary most, one by one and
  jointly.
- `sentences.py`: What an answer about money says in plain words: the amount, the odds, what they
  rest on.
- `stated_money.py`: The money of a study checked whole: every amount with its key and currency, or
  every fault.
- `study_of_claim.py`: What a plan rests on, gathered from the analysis of a claim: spreads, counts,
  room for more.
- `ways_of_reading.py`: Every way of reading new blocks, and which numbers of blocks read so could
  come into question.
- `wording.py`: Odds as counts in ten or a hundred, money and blocks in words; never a bare
  probability.
"""
