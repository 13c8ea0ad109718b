"""Findings: what a results dataset says, as datasets and tables (floor 5).

Reads datasets only. Everything returned states the share of runs it rests on.
"""

from toolkit.findings.compare import pair, pair_along, summarise_pairs
from toolkit.findings.envelope import EnvelopeStatus, largest_passing, passing_band, wind_limit
from toolkit.findings.joint import count_limits
from toolkit.findings.limits import LIMIT_NAMES, apply_limits, binding_words, limits_of, limits_text
from toolkit.findings.shares import share_of_runs, shares_text
from toolkit.findings.static_rule import back_test, count_back_test
from toolkit.findings.worst import worst_over, worst_values

__all__ = [
    "LIMIT_NAMES",
    "EnvelopeStatus",
    "apply_limits",
    "back_test",
    "binding_words",
    "count_back_test",
    "count_limits",
    "largest_passing",
    "limits_of",
    "limits_text",
    "pair",
    "pair_along",
    "passing_band",
    "share_of_runs",
    "shares_text",
    "summarise_pairs",
    "wind_limit",
    "worst_over",
    "worst_values",
]
