"""Findings: what a results dataset says, as datasets and tables (floor 5).

Reads datasets only. Everything returned states the share of runs it rests on.
"""

from toolkit.findings.box import box_against_joint, by_sectors, worst_direction
from toolkit.findings.compare import pair, pair_along, summarise_pairs
from toolkit.findings.draft_rule import DraftRule, load_draft_rule, permitted_by
from toolkit.findings.envelope import EnvelopeStatus, largest_passing, passing_band, wind_limit
from toolkit.findings.go_card import Card, go_card, operational_limit
from toolkit.findings.interaction import interaction
from toolkit.findings.joint import count_limits
from toolkit.findings.limit_search import LimitSearch, find_limit
from toolkit.findings.limits import LIMIT_NAMES, apply_limits, binding_words, limits_of, limits_text
from toolkit.findings.margins import tighten
from toolkit.findings.paired import compare_along, compare_results
from toolkit.findings.proportions import passing_share, proportion_interval
from toolkit.findings.requirement import RequirementStatus, requirement
from toolkit.findings.rule_test import back_test_rules, permitted_by_requirement, static_permits
from toolkit.findings.rule_words import rule_text
from toolkit.findings.shares import share_of_runs, shares_text
from toolkit.findings.standby import Standby, failure_consequences, standby_need
from toolkit.findings.static_rule import back_test, count_back_test
from toolkit.findings.win_map import win_map
from toolkit.findings.worst import worst_over, worst_values

__all__ = [
    "LIMIT_NAMES",
    "Card",
    "DraftRule",
    "EnvelopeStatus",
    "LimitSearch",
    "RequirementStatus",
    "Standby",
    "apply_limits",
    "back_test",
    "back_test_rules",
    "binding_words",
    "box_against_joint",
    "by_sectors",
    "compare_along",
    "compare_results",
    "count_back_test",
    "count_limits",
    "failure_consequences",
    "find_limit",
    "go_card",
    "interaction",
    "largest_passing",
    "limits_of",
    "limits_text",
    "load_draft_rule",
    "operational_limit",
    "pair",
    "pair_along",
    "passing_band",
    "passing_share",
    "permitted_by",
    "permitted_by_requirement",
    "proportion_interval",
    "requirement",
    "rule_text",
    "share_of_runs",
    "shares_text",
    "standby_need",
    "static_permits",
    "summarise_pairs",
    "tighten",
    "win_map",
    "wind_limit",
    "worst_direction",
    "worst_over",
    "worst_values",
]
