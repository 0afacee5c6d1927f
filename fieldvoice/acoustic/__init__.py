"""How the shipped speech model was made; needs the extra `[train]` and is never imported at run time."""
