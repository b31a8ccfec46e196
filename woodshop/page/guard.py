"""What the page lets in: requests of this computer's own browser, with the token of the address or its cookie."""

import re
from collections.abc import Iterable
from hmac import compare_digest
from http import HTTPStatus
from logging import getLogger
from urllib.parse import quote

from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BODY = 1 << 20
"""The largest body of a request, in bytes."""
MOST_UPLOAD = 16 << 20
"""The largest upload of a file, in bytes: as large as any file that woodshop reads."""
MOST_PATH = 2_000
"""The longest path and query of an address, in bytes."""
_UPLOAD = re.compile(r"/_nicegui/client/[^/]+/upload/[^/]+")
_FOREIGN_HEADERS = (b"x-forwarded-", b"forwarded", b"x-nicegui-")
_STRICT = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_LIBRARY = (
    "default-src 'none'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self' ws://{host}; worker-src 'self' blob:; "
    "object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
_ANYWHERE = (
    (b"referrer-policy", b"no-referrer"),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
_NO_CACHE = (b"cache-control", b"no-store")


class Guard:
    """An ASGI application around another one, which it protects from every other site, program and computer.

    It refuses a foreign Host or Origin (also of a WebSocket), a request without the cookie, a body that is too large
    and a path that is none. The token in an address becomes a cookie, and the browser goes on without the token. It
    adds the headers that keep the page to itself, and turns every failure into a plain sentence.
    """

    def __init__(self, app: ASGIApp, port: int, token: str, session: str) -> None:
        """`port` is that of the server, `token` the secret of the address, `session` that of the cookie."""
        self._app = app
        self._hosts = tuple(f"{name}:{port}" for name in ("127.0.0.1", "localhost"))
        if port == 80:
            self._hosts += ("127.0.0.1", "localhost")
        self._token, self._session = token, session
        self._cookie = f"woodshop_{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serves one request, one WebSocket, or the start and end of the server."""
        if scope["type"] == "http":
            await self._http(scope, receive, send)
        elif scope["type"] == "websocket":
            await self._websocket(scope, receive, send)
        else:
            await self._app(scope, receive, send)

    async def _websocket(self, scope: Scope, receive: Receive, send: Send) -> None:
        headers = list(scope["headers"])
        if (
            self._is_foreign(headers, needs_origin=True)
            or not self._has_cookie(headers)
            or _is_odd(scope["path"], scope["query_string"])
        ):
            await receive()
            await send({"type": "websocket.close", "code": 1008})
            return
        await self._app({**scope, "headers": _own(headers)}, receive, send)

    async def _http(self, scope: Scope, receive: Receive, send: Send) -> None:
        headers, path, method = list(scope["headers"]), scope["path"], scope["method"]
        host = _values(headers, b"host")
        csp = (_STRICT if _is_saw(path) else _LIBRARY.format(host=host[0] if host else "")).encode("latin-1", "ignore")
        answer = _Answer(send, csp if not self._is_foreign(headers, needs_origin=False) else _STRICT.encode())
        is_reading = method in ("GET", "HEAD")
        if self._is_foreign(headers, needs_origin=not is_reading):
            await answer.refuse(403, "Open the page at the address that the command printed.")
        elif _is_odd(path, scope["query_string"]):
            await answer.refuse(404)
        elif is_reading and (tokens := _tokens(scope["query_string"])):
            await self._admit(tokens, path, scope["query_string"], answer)
        elif not self._has_cookie(headers):
            await answer.refuse(403, "Open the page at the address that the command printed.")
        else:
            await self._pass_on({**scope, "headers": _own(headers)}, receive, answer)

    async def _pass_on(self, scope: Scope, receive: Receive, answer: "_Answer") -> None:
        most = MOST_UPLOAD if _UPLOAD.fullmatch(scope["path"]) else MOST_BODY
        body = await _body(scope["headers"], receive, most)
        if body is None:
            await answer.refuse(413, f"At most {most >> 20} MB can be sent.")
            return
        is_given = is_gone = False

        async def given() -> Message:
            nonlocal is_given, is_gone
            if is_given:
                message = await receive()
                is_gone = is_gone or message["type"] == "http.disconnect"
                return message
            is_given = True
            return {"type": "http.request", "body": body, "more_body": False}

        try:
            await self._app(scope, given, answer.send)
        except Exception:
            if is_gone:
                return  # nobody waits for this answer, which the web library takes for an error
            getLogger("woodshop.page").exception("a request failed")
            await answer.refuse(500)

    async def _admit(self, tokens: list[bytes], path: str, query: bytes, answer: "_Answer") -> None:
        if len(tokens) != 1 or not compare_digest(tokens[0], self._token.encode()):
            await answer.refuse(403, "This address is from an earlier start. Use the address printed last.")
            return
        kept = b"&".join(each for each in query.split(b"&") if not each.startswith(b"token="))
        where = quote("/" + path.lstrip("/"), safe="/") + (f"?{quote(kept, safe='=&%')}" if kept else "")
        cookie = f"{self._cookie}={self._session}; Path=/; HttpOnly; SameSite=Strict"
        await answer.refuse(303, "", ((b"location", where.encode()), (b"set-cookie", cookie.encode())))

    def _is_foreign(self, headers: list[tuple[bytes, bytes]], *, needs_origin: bool) -> bool:
        hosts, origins = _values(headers, b"host"), _values(headers, b"origin")
        if len(hosts) != 1 or hosts[0].lower() not in self._hosts:
            return True
        if not origins:
            return needs_origin or any(
                each in ("cross-site", "same-site") and _values(headers, b"sec-fetch-mode") != ["navigate"]
                for each in _values(headers, b"sec-fetch-site")
            )
        return origins != [f"http://{hosts[0].lower()}"]

    def _has_cookie(self, headers: list[tuple[bytes, bytes]]) -> bool:
        given = [each.strip().partition("=") for line in _values(headers, b"cookie") for each in line.split(";")]
        wanted = self._session.encode()
        return any(compare_digest(value.encode(), wanted) for name, _, value in given if name == self._cookie)


class _Answer:
    """Sends one answer, with the headers that every answer has; replaces pages of errors by a plain sentence."""

    def __init__(self, send: Send, csp: bytes) -> None:
        self._send, self._csp = send, csp
        self._is_begun = self._is_replaced = False

    async def send(self, message: Message) -> None:
        """Passes on one message of the application."""
        if self._is_replaced:
            return
        if message["type"] == "http.response.start":
            headers = list(message.get("headers", ()))
            kind = b"".join(value for name, value in headers if name.lower() == b"content-type")
            if message["status"] >= 400 and not kind.startswith((b"application/json", b"text/plain")):
                await self.refuse(message["status"])
                self._is_replaced = True
                return
            self._is_begun = True
            message = {**message, "headers": self._with_ours(headers)}
        await self._send(message)

    async def refuse(self, status: int, text: str = "", headers: Iterable[tuple[bytes, bytes]] = ()) -> None:
        """Answers with a status and one line of plain text; nothing if an answer has begun."""
        if self._is_begun:
            return
        self._is_begun = True
        body = f"{text or HTTPStatus(status).phrase}\n".encode()
        own = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", b"%d" % len(body)), *headers]
        await self._send({"type": "http.response.start", "status": status, "headers": self._with_ours(own)})
        await self._send({"type": "http.response.body", "body": body})

    def _with_ours(self, headers: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
        ours = [*_ANYWHERE, (b"content-security-policy", self._csp)]
        names = {name for name, _ in ours}
        kept = [
            (name, value)
            for name, value in headers
            if name.lower() not in names and not name.lower().startswith(b"access-control-")
        ]
        if not any(name.lower() == b"cache-control" for name, _ in kept):
            kept.append(_NO_CACHE)
        return [*kept, *ours]


async def _body(headers: Iterable[tuple[bytes, bytes]], receive: Receive, most: int) -> bytes | None:
    """The whole body of a request, or None if it is larger than `most` bytes."""
    lengths = _values(headers, b"content-length")
    if any(not each.isdecimal() or len(each) > 12 or int(each) > most for each in lengths):
        return None
    parts, size, is_more = [], 0, True
    while is_more:
        message = await receive()
        if message["type"] == "http.disconnect":
            return b""
        part = message.get("body", b"")
        size += len(part)
        if size > most:
            return None
        parts.append(part)
        is_more = message.get("more_body", False)
    return b"".join(parts)


def _values(headers: Iterable[tuple[bytes, bytes]], name: bytes) -> list[str]:
    return [value.decode("latin-1") for key, value in headers if key.lower() == name]


def _own(headers: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    return [(name, value) for name, value in headers if not name.lower().startswith(_FOREIGN_HEADERS)]


def _tokens(query: bytes) -> list[bytes]:
    return [each.partition(b"=")[2] for each in query.split(b"&") if each.startswith(b"token=")]


def _is_saw(path: str) -> bool:
    return path == "/saw" or path.startswith("/saw/")


def _is_odd(path: str, query: bytes) -> bool:
    """Whether a path is too long, leads elsewhere, or has characters that no path of the page has."""
    return (
        len(path.encode("utf-8", "replace")) + len(query) > MOST_PATH
        or not path.startswith("/")
        or "\\" in path
        or not path.isprintable()
        or any(each in (".", "..") for each in path.split("/"))
    )
