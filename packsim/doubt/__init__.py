"""Which inputs an answer hangs on, how sure its verdict is, and what to measure first."""

from packsim.doubt.action import Action
from packsim.doubt.confidence import Confidence, confidence, percent
from packsim.doubt.doubt import Doubt, Measure, StageDoubt, doubt
from packsim.doubt.measuring import ACTIONS
from packsim.doubt.shares import OUTCOMES, Share
from packsim.doubt.tornado import QUANTITIES, Swing
