"""What a speech model is made of, by numpy alone: features, network, pronunciations, scores."""
