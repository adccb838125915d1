"""The ledger of claims, the verdict on each, and the threats to it."""
