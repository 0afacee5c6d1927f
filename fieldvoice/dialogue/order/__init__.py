"""Work out of turn: jumps between stages, tests held elsewhere, holds of one's own length."""
