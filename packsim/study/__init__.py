"""The main job: a scenario in, every answer and what to do about it out."""

from packsim.findings import LEVELS, Finding
from packsim.study.study import SizeSummary, StageSummary, Study, study_line, summarize
from packsim.study.turned import Turned, verdicts_turned
