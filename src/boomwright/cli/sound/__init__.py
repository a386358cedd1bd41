"""``boomwright sound``: how a build sounds, worked out and shown."""
