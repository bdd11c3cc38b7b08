"""Which inputs an answer hangs on, how sure its verdict is, and what to measure first."""
