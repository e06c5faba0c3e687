"""Decisions: the ledger of what was meant, and the state of a cell that follows from it."""
