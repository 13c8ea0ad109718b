"""What to run: the study file, its axes and design, and the table of cases (floor 3)."""

from toolkit.study.canonical import study_from_canonical
from toolkit.study.file import load_study, parse_study
from toolkit.study.limits import Limits
from toolkit.study.selection import locate
from toolkit.study.study import Axis, Design, RunOptions, Study

__all__ = [
    "Axis", "Design", "Limits", "RunOptions", "Study", "load_study", "locate", "parse_study", "study_from_canonical",
]  # fmt: skip
