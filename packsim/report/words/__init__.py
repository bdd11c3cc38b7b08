"""The words and numbers every output shares."""
