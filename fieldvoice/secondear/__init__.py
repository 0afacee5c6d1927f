"""A second opinion on what was heard: another network weighs the ways that the first one left."""
