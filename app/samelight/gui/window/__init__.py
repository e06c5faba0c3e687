"""The lead lighter's window: its rooms put together and kept in step."""

from samelight.gui.background.sources_unread import leave_sources_unread

leave_sources_unread()
