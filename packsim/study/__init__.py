"""The main job: a scenario in, every answer and what to do about it out."""

from packsim.study.findings import LEVELS, Finding
from packsim.study.plain import study_json
from packsim.study.run import Study, study

__all__ = ["LEVELS", "Finding", "Study", "study", "study_json"]
