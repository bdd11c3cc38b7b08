"""Where nozzles stand against the lines of can centres, and what shift or pitch suits."""
