"""Trials on the floor: what to try, what the counts say about the kicks, what that is worth."""

from packsim.trial.cost import EnergyRange, SpoilageChange, spoilage_change
from packsim.trial.fit import fit_trials
from packsim.trial.foretell import FittedPrediction, predict_fitted
from packsim.trial.groups import GroupFit, TrialFit
from packsim.trial.plan import plan_trial
from packsim.trial.predict import Prediction, predict
from packsim.trial.trial import StageCount, Trial
from packsim.trial.trial_plan import TrialPlan
from packsim.trial.two_rates import cans_to_tell_apart, two_count_p

__all__ = [
    "EnergyRange",
    "FittedPrediction",
    "GroupFit",
    "Prediction",
    "SpoilageChange",
    "StageCount",
    "Trial",
    "TrialFit",
    "TrialPlan",
    "cans_to_tell_apart",
    "fit_trials",
    "plan_trial",
    "predict",
    "predict_fitted",
    "spoilage_change",
    "two_count_p",
]
