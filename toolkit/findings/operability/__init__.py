"""Operability: a record of wind, and current, held against a wind limit (floor 5).

`read_record` reads CSV or NetCDF, `invented_record` makes a stand-in; `limit_of_results`
takes the limit by direction out of results, `limit_of_found` takes one searched for, `limit_table` a plain table;
`operability` holds the one against the other.
"""

from toolkit.findings.operability.climate import availability, availability_by_direction, exceedance
from toolkit.findings.operability.invented import invented_record
from toolkit.findings.operability.limit import NEVER, box_limits, lessened, limit_at, limit_table
from toolkit.findings.operability.options import ReadingOptions
from toolkit.findings.operability.record import read_record
from toolkit.findings.operability.report import reading_lines, reading_table
from toolkit.findings.operability.results_limit import limit_of_found, limit_of_results
from toolkit.findings.operability.spells import events, windows
from toolkit.findings.operability.tables import by_direction_table, operability_table
from toolkit.findings.operability.whole import Operability, operability
from toolkit.findings.operability.workable import workable_time
from toolkit.findings.operability.years import yearly

__all__ = [
    "NEVER",
    "Operability",
    "ReadingOptions",
    "availability",
    "availability_by_direction",
    "box_limits",
    "by_direction_table",
    "events",
    "exceedance",
    "invented_record",
    "lessened",
    "limit_at",
    "limit_of_found",
    "limit_of_results",
    "limit_table",
    "operability",
    "operability_table",
    "read_record",
    "reading_lines",
    "reading_table",
    "windows",
    "workable_time",
    "yearly",
]
