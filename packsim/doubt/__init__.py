"""Which inputs an answer hangs on, how sure its verdict is, and what to measure first."""

from packsim.doubt.confidence import confidence
from packsim.doubt.doubt import doubt
