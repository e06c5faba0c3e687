"""Findings: sentences that say why many cells differ, and what to do. One module a finding."""
