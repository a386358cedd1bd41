"""The mute against the switch-on thump."""
