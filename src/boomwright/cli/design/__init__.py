"""``boomwright design``: small circuits, boxes and band splits, asked for and shown."""
