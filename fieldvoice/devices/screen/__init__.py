"""The terminal: last heard, answers, prompt, what is left; readable from two metres."""

from fieldvoice.devices.screen.layout import View, clock_face, clock_line, figures_of, layout
from fieldvoice.devices.screen.terminal import Screen

__all__ = ["Screen", "View", "clock_face", "clock_line", "figures_of", "layout"]
