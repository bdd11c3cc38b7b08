"""Trials on the floor: what to try, and what the counts say about the kicks."""

from packsim.trial.fit import fit_trials
from packsim.trial.foretell import FittedPrediction, predict_fitted
from packsim.trial.groups import TrialFit
from packsim.trial.plan import plan_trial
from packsim.trial.trial_plan import TrialPlan
