"""The procedure language: model, reader, checks, flow, and what is drawn from it."""
