"""What the test sentences are heard through: noises of sites, and rooms, microphones, levels."""
