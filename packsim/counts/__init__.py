"""The same passage many times over: what tips is counted, in clusters, with intervals."""
