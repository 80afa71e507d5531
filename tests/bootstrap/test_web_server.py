"""The screens over TLS: a stock client that trusts the authority gets in, and files that make no pair are refused."""

import ssl
from pathlib import Path
from typing import Any

import httpx
import pytest
import trustme

from orchestrator.bootstrap.settings import Certificate, Failure
from orchestrator.bootstrap.web_server import WebServer


async def app(scope: Any, receive: Any, send: Any) -> None:
    """Answers with the scheme that it was asked by."""
    if scope["type"] == "lifespan":
        for kind in ("startup", "shutdown"):
            await receive()
            await send({"type": f"lifespan.{kind}.complete"})
        return
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": scope["scheme"].encode()})


def issued(folder: Path, name: str) -> tuple[trustme.CA, Certificate]:
    authority = trustme.CA()
    made, files = authority.issue_cert("127.0.0.1"), Certificate(folder / f"{name}.pem", folder / f"{name}.key")
    made.cert_chain_pems[0].write_to_path(str(files.chain))
    made.private_key_pem.write_to_path(str(files.key))
    return authority, files


async def test_with_a_certificate_it_speaks_tls_and_nothing_else(tmp_path: Path) -> None:
    authority, files = issued(tmp_path, "kitchen")
    server = WebServer(app, "127.0.0.1", 0, files)
    await server.start()
    try:
        assert server.url == f"https://127.0.0.1:{server.port}"
        trusting = ssl.create_default_context()
        authority.configure_trust(trusting)
        async with httpx.AsyncClient(verify=trusting) as client:
            assert (await client.get(server.url)).text == "https"
            with pytest.raises(httpx.HTTPError):
                await client.get(f"http://127.0.0.1:{server.port}")
        async with httpx.AsyncClient() as stranger:
            with pytest.raises(httpx.ConnectError):
                await stranger.get(server.url)
    finally:
        await server.stop()


def test_a_key_of_another_certificate_is_refused_by_name(tmp_path: Path) -> None:
    (_, one), (_, other) = issued(tmp_path, "one"), issued(tmp_path, "other")
    with pytest.raises(Failure, match=r"one\.pem and .*other\.key are no certificate and key for TLS") as refused:
        WebServer(app, "127.0.0.1", 0, Certificate(one.chain, other.key))
    assert refused.value.status == 2
