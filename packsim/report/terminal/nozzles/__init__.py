"""What packsim nozzles says: checks, designs and shifts."""
