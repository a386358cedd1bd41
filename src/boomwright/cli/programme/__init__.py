"""``boomwright programme``: music measured and shown."""
