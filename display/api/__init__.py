"""The HTTP interface for programs: the same reads and acts as the screens, under /api/v1."""

from display.api.blueprint import api_blueprint

__all__ = ["api_blueprint"]
