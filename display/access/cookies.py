"""Cookies of ours: never for scripts, never sent along from other sites, and under TLS never without it."""

from flask import Flask, request
from flask.sessions import SecureCookieSessionInterface
from werkzeug.wrappers import Response


def keep(response: Response, name: str, value: str, seconds: int) -> None:
    """Let a browser keep a value."""
    response.set_cookie(
        name, value, max_age=seconds, path="/", samesite="Strict", httponly=True, secure=request.is_secure
    )


def forget(response: Response, name: str) -> None:
    """Let it go."""
    response.delete_cookie(name, path="/", samesite="Strict", httponly=True, secure=request.is_secure)


class Sessions(SecureCookieSessionInterface):
    """Flask's own cookie, in which a message goes from one page to the next, by the same rules."""

    def get_cookie_secure(self, app: Flask) -> bool:
        """As the request came."""
        return request.is_secure
