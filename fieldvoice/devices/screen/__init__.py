"""The terminal: last heard, answers, prompt, what is left; readable from two metres."""

from fieldvoice.devices.screen.large_figures import clock_line
from fieldvoice.devices.screen.printable import printable
from fieldvoice.devices.screen.terminal import Screen, wants_colour
from fieldvoice.devices.screen.view import View

__all__ = ["Screen", "View", "clock_line", "printable", "wants_colour"]
