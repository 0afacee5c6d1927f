"""How sure the likeliest meaning of a line is: evidence of it, and a small model that weighs it."""
