"""``boomwright identify``: what a driver is, asked for and shown."""
