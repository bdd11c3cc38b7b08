"""The command line: load, call, print. Nothing here computes."""
