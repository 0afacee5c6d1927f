"""The acoustic network: features, training, and Kaldi's form of it."""
