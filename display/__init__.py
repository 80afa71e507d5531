"""The web screens: Flask, templates, static files, and the event stream."""
