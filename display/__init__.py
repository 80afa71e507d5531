"""The web screens: server-rendered pages, kept live by event streams."""
