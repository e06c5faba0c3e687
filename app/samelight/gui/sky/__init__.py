"""Where the lights come from, on a dome seen from above."""
