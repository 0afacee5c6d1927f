"""How well the model and its peers hear: test sets, scoring, results."""
