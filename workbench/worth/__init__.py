"""What it is worth: cost of a usable block, break-even, looking again, what to measure next.

Modules:

- `family_prices.py`: What a block of one family costs and brings, in one currency, and how it
  enters a purchase.
- `money_tables.py`: `[worth]` and the money keys of `[families.NAME]` in `study.toml`, each with
  its type.
- `prices.py`: The prices of a study in one currency: what is stated, what is missing, what looks
  odd.
- `stated_money.py`: The money of a study checked whole: every amount with its key and currency, or
  every fault.
"""
