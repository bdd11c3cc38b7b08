"""The main job: a scenario in, every answer and what to do about it out."""

from packsim.findings import LEVELS, Finding
from packsim.study.study import Study, study_line
from packsim.study.summary import SizeSummary, StageSummary, summarize
