"""PyQtGraph in the house's colours: whoever plots takes it from here, so that it is never loaded without them."""

from __future__ import annotations

import pyqtgraph as pg

from samelight.gui.paint import theme

__all__ = ["pg"]

pg.setConfigOptions(background=theme.WINDOW, foreground=theme.TEXT)
