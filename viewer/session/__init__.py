"""What a person does while watching: packs, clock, keys, lessons, saving; without any drawing."""
