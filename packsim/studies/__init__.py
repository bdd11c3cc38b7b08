"""The main job: a scenario in, every answer and what to do about it out."""

from packsim.studies.findings import LEVELS, Finding
from packsim.studies.plain import study_json
from packsim.studies.run import Study, study

__all__ = ["LEVELS", "Finding", "Study", "study", "study_json"]
