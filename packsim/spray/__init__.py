"""What the sprays do to cans: jets, footprints, forces, dose."""
