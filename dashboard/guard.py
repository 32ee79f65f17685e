"""What every request must pass and every answer carries: host, token, security headers."""

from __future__ import annotations

import secrets
from urllib.parse import urlsplit

from dash import Dash
from flask import Response, abort, request

LOOPBACK = ("127.0.0.1", "::1", "localhost")
TOKEN = "_csrf_token"


def protect(app: Dash) -> None:
    """Refuse strangers before every request; add the headers after it."""
    server = app.server

    @server.before_request
    def refuse_strangers() -> None:
        if not known_host(request.host, server.config.get("SPOIL_PORT")):
            abort(400, "This server answers to localhost only.")
        if request.method not in ("GET", "HEAD", "OPTIONS") and not has_token():
            abort(403, "The page is out of date: load it again.")

    @server.after_request
    def add_headers(response: Response) -> Response:
        response.headers.update(security_headers(app))
        if TOKEN not in request.cookies and request.method == "GET":
            response.set_cookie(TOKEN, secrets.token_urlsafe(32), samesite="Strict", path="/")
        return response


def known_host(host: str, port: int | None) -> bool:
    """Whether the Host header names this machine, and the port it is served on.

    >>> known_host("localhost:8050", 8050), known_host("[::1]:8050", 8050)
    (True, True)
    >>> known_host("example.org:8050", 8050), known_host("localhost:1", 8050)
    (False, False)
    """
    try:
        parts = urlsplit(f"//{host}")
        return parts.hostname in LOOPBACK and (port is None or (parts.port or 80) == port)
    except ValueError:
        return False


def has_token() -> bool:
    """Whether the request repeats the token of its cookie in its header: another site cannot."""
    cookie = request.cookies.get(TOKEN, "")
    sent = request.headers.get("X-CSRFToken", "")
    return bool(cookie) and secrets.compare_digest(cookie.encode(), sent.encode())


def security_headers(app: Dash) -> dict[str, str]:
    """Only this server's own scripts, styles, fonts and answers; no frames around it."""
    scripts = " ".join(["'self'", *app.csp_hashes()])
    policy = (
        "default-src 'self'",
        f"script-src {scripts}",
        "style-src 'self' 'unsafe-inline'",
        "img-src 'self' data: blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "form-action 'self'",
    )
    return {
        "Content-Security-Policy": "; ".join(policy),
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Referrer-Policy": "same-origin",
        "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
        "Cross-Origin-Opener-Policy": "same-origin",
    }
