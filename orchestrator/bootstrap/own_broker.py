"""The embedded broker, as a service's settings ask for it: never open to a network without a login."""

from typing import Final

from orchestrator.adapters.embedded_broker import EmbeddedBroker, Login
from orchestrator.bootstrap.settings import Failure, Settings, is_loopback

LOGIN_VARIABLE: Final = "COLDWRIGHT_BROKER_LOGIN"
"""In the environment or the secrets file: ``user:password``."""


def own_broker(settings: Settings) -> EmbeddedBroker:
    """A broker, not started yet.

    Raises:
        Failure: it would let everybody on the network in, or its login makes no sense.
    """
    if not settings.broker_login:
        if not is_loopback(settings.broker_host):
            raise Failure(
                "without a login the embedded broker listens on this machine only, and "
                f"{settings.broker_host} is beyond it: put {LOGIN_VARIABLE}=user:password into the secrets file, "
                "then start again",
                2,
            )
        return EmbeddedBroker(settings.broker_port, settings.broker_host)
    try:
        return EmbeddedBroker(settings.broker_port, settings.broker_host, Login.parse(settings.broker_login))
    except ValueError as error:
        raise Failure(f"{LOGIN_VARIABLE}: {error}", 2) from None
