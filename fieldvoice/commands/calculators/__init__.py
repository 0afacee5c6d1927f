"""The calculations of `fieldvoice work-out`, by subject."""
