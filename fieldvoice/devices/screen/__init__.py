"""The terminal: open step, figures, what was heard and said; readable from two metres."""

from fieldvoice.devices.screen.large_figures import clock_line
from fieldvoice.devices.screen.printable import printable
from fieldvoice.devices.screen.terminal import wants_colour
from fieldvoice.devices.screen.view import Devices, Plot, Said, View

__all__ = ["Devices", "Plot", "Said", "View", "clock_line", "printable", "wants_colour"]
