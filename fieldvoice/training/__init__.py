"""How the shipped speech model was made; needs the extra `[train]`; never imported at run time."""
