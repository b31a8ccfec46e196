"""What the page lets in: other sites, other programs, hostile paths and large bodies stay out.

Sources of what is expected: RFC 6455 section 10.2 (a WebSocket server checks Origin), RFC 9110 section 7.2 (one Host),
RFC 6265 sections 5.4 and 8.5 (cookies are not kept apart by port), W3C Referrer Policy and Content Security Policy 3.
"""

import asyncio
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

import pytest

from woodshop.page.guard import MOST_BODY, MOST_UPLOAD, Guard

PORT = 7420
HOST = f"127.0.0.1:{PORT}"
TOKEN, SESSION = "the-token", "the-session"
COOKIE = ("cookie", f"woodshop_{PORT}={SESSION}")
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]


class Inner:
    """The application behind the guard: says what reached it."""

    def __init__(self, kind: str = "text/plain", status: int = 200) -> None:
        self.kind, self.status = kind, status
        self.reached: list[str] = []
        self.bodies: list[bytes] = []
        self.headers: list[tuple[bytes, bytes]] = []

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        self.reached.append(scope["path"])
        self.headers = list(scope["headers"])
        if scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.accept"})
            return
        self.bodies.append((await receive())["body"])
        if self.kind == "raise":
            raise RuntimeError("a secret of the traceback")
        headers = [
            (b"content-type", self.kind.encode()),
            (b"access-control-allow-origin", b"*"),
            (b"referrer-policy", b"unsafe-url"),
        ]
        await send({"type": "http.response.start", "status": self.status, "headers": headers})
        await send({"type": "http.response.body", "body": b"a secret of the traceback"})


def ask(
    inner: Callable[[Message, Receive, Send], Awaitable[None]],
    path: str = "/",
    *headers: tuple[str, str],
    method: str = "GET",
    query: str = "",
    parts: tuple[bytes, ...] = (b"",),
    kind: str = "http",
) -> tuple[int, dict[str, str], bytes]:
    """The status, headers and body of one answer; of a WebSocket 101, or its code of closing."""
    sent: list[Message] = []
    waiting: list[Message] = [
        {"type": "http.request", "body": part, "more_body": n + 1 < len(parts)} for n, part in enumerate(parts)
    ]
    if kind == "websocket":
        waiting = [{"type": "websocket.connect"}]

    async def receive() -> Message:
        return waiting.pop(0) if waiting else {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        sent.append(message)

    given = headers if any(name == "host" for name, _ in headers) else (("host", HOST), *headers)
    scope = {
        "type": kind,
        "path": path,
        "query_string": query.encode(),
        "headers": [(name.encode(), value.encode()) for name, value in given if name != "host" or value],
        **({"method": method} if kind == "http" else {}),
    }
    asyncio.run(Guard(inner, PORT, TOKEN, SESSION)(scope, receive, send))
    if kind == "websocket":
        return (101, {}, b"") if sent[0]["type"] == "websocket.accept" else (sent[0]["code"], {}, b"")
    answer = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    return sent[0]["status"], answer, b"".join(each["body"] for each in sent[1:])


def directives(policy: str) -> dict[str, list[str]]:
    return {words[0]: words[1:] for each in policy.split(";") if (words := each.split())}


def test_the_token_becomes_a_cookie_and_leaves_the_address() -> None:
    inner = Inner()
    status, headers, body = ask(inner, "/design/a b/hives", query=f"token={TOKEN}&part=3")
    assert (status, headers["location"]) == (303, "/design/a%20b/hives?part=3")
    name, *words = headers["set-cookie"].split("; ")
    assert name == f"woodshop_{PORT}={SESSION}"
    assert set(words) == {"Path=/", "HttpOnly", "SameSite=Strict"}
    assert headers["referrer-policy"] == "no-referrer"
    assert TOKEN not in str(headers) + body.decode()
    assert inner.reached == []
    assert ask(inner, "/", COOKIE)[0] == 200


@pytest.mark.parametrize("path", ["//elsewhere.example/x", "/\r\nset-cookie: a=b", "/\\elsewhere.example"])
def test_the_token_leads_nowhere_else(path: str) -> None:
    status, headers, _ = ask(Inner(), path, query=f"token={TOKEN}")
    assert status == 404 or headers["location"] == "/elsewhere.example/x"
    assert "\n" not in str(list(headers.values()))


@pytest.mark.parametrize("query", ["token=", "token=the-toke", "token=the-token2", f"token={TOKEN}&token={TOKEN}"])
def test_another_token_is_refused(query: str) -> None:
    inner = Inner()
    status, headers, _ = ask(inner, query=query)
    assert status == 403
    assert "set-cookie" not in headers
    assert inner.reached == []


@pytest.mark.parametrize(
    "cookie", ["", f"woodshop_{PORT}=", f"woodshop_{PORT}=the-sessioN", f"woodshop_{PORT + 1}={SESSION}", f"x={TOKEN}"]
)
def test_nothing_without_the_cookie(cookie: str) -> None:
    inner = Inner()
    for path in ("/", "/saw", "/_nicegui/static/x.js", "/_nicegui_ws/socket.io/"):
        assert ask(inner, path, ("cookie", cookie))[0] == 403
    assert (
        ask(inner, "/_nicegui_ws/socket.io/", ("cookie", cookie), ("origin", f"http://{HOST}"), kind="websocket")[0]
        == 1008
    )
    assert inner.reached == []


def test_cookies_of_other_programs_of_this_computer_do_no_harm() -> None:
    """They are sent here too, for cookies are not kept apart by port."""
    lines = f'odd="a; woodshop_{PORT}=tossed; json={{}}; woodshop_{PORT}={SESSION}; =x; y'
    assert ask(Inner(), "/", ("cookie", lines))[0] == 200


@pytest.mark.parametrize(
    "host", ["", "evil.example", f"evil.example:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", f"{HOST}.evil.example",
             f"[::1]:{PORT}", f"192.168.1.2:{PORT}", f"user@{HOST}"]
)  # fmt: skip
def test_a_foreign_host_is_refused(host: str) -> None:
    inner = Inner()
    assert ask(inner, "/", ("host", host), COOKIE)[0] == 403
    assert ask(inner, "/", ("host", host), query=f"token={TOKEN}")[0] == 403
    assert ask(inner, "/", ("host", host), COOKIE, ("origin", f"http://{host}"), kind="websocket")[0] == 1008
    assert inner.reached == []


def test_two_hosts_are_refused() -> None:
    assert ask(Inner(), "/", ("host", HOST), ("host", HOST), COOKIE)[0] == 403


ORIGINS = ["null", "", "http://evil.example", f"https://{HOST}", "http://127.0.0.1", f"http://127.0.0.1:{PORT + 1}",
           f"http://localhost:{PORT}", f"http://{HOST}.evil.example", f"http://{HOST}/", "file://"]  # fmt: skip


@pytest.mark.parametrize("origin", ORIGINS)
def test_a_foreign_origin_is_refused(origin: str) -> None:
    """Also localhost to 127.0.0.1, which are two origins."""
    inner = Inner()
    for method in ("GET", "POST", "OPTIONS"):
        assert ask(inner, "/", COOKIE, ("origin", origin), method=method)[0] == 403
    assert ask(inner, "/", COOKIE, ("origin", origin), kind="websocket")[0] == 1008
    assert inner.reached == []


def test_what_changes_something_says_where_it_comes_from() -> None:
    inner = Inner()
    assert ask(inner, "/saw/tick", COOKIE, method="POST")[0] == 403
    assert ask(inner, "/_nicegui_ws/socket.io/", COOKIE, kind="websocket")[0] == 1008
    assert inner.reached == []
    own = ("origin", f"http://{HOST}")
    assert ask(inner, "/saw/tick", COOKIE, own, method="POST")[0] == 200
    assert ask(inner, "/_nicegui_ws/socket.io/", COOKIE, own, kind="websocket")[0] == 101
    local = (("host", f"localhost:{PORT}"), ("origin", f"http://localhost:{PORT}"))
    assert ask(inner, "/", COOKIE, *local, kind="websocket")[0] == 101


@pytest.mark.parametrize(("site", "mode", "status"), [
    ("cross-site", "no-cors", 403), ("same-site", "cors", 403), ("cross-site", "navigate", 200),
    ("same-origin", "cors", 200), ("none", "navigate", 200),
])  # fmt: skip
def test_another_page_cannot_take_in_a_picture_or_script(site: str, mode: str, status: int) -> None:
    assert ask(Inner(), "/", COOKIE, ("sec-fetch-site", site), ("sec-fetch-mode", mode))[0] == status


@pytest.mark.parametrize("path", [
    "/../etc/passwd", "/design/../../x", "/./x", "/a/..", "/design/a\x00b/hives", "/design/a\nb", "/c:\\x", "x",
    "/" + "a" * 2_000, "/design/\u202egpj/hives",
])  # fmt: skip
def test_a_path_that_is_none_is_not_found(path: str) -> None:
    inner = Inner()
    status, headers, body = ask(inner, path, COOKIE)
    assert (status, headers["content-type"], body) == (404, "text/plain; charset=utf-8", b"Not Found\n")
    assert inner.reached == []


@pytest.mark.parametrize("path", ["/", "/saw", "/saw/tick", "/sawdust", "/design/x/hives"])
def test_every_answer_keeps_the_page_to_itself(path: str) -> None:
    for query, given in (("", (COOKIE,)), ("", ()), ("token=x", ()), (f"token={TOKEN}", ())):
        _, headers, _ = ask(Inner(), path, *given, query=query)
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert headers["cross-origin-resource-policy"] == "same-origin"
        assert not any(name.startswith("access-control") for name in headers)
        policy = directives(headers["content-security-policy"])
        assert policy["default-src"] == policy["base-uri"] == policy["frame-ancestors"] == ["'none'"]
        own = {"'self'", "'none'", "data:", "blob:", f"ws://{HOST}", "'unsafe-inline'", "'unsafe-eval'"}
        assert {word for words in policy.values() for word in words} <= own
        assert "unsafe" in str(policy) or path in ("/saw", "/saw/tick")


def test_the_saw_page_runs_only_its_own_files() -> None:
    for path in ("/saw", "/saw/one/step"):
        policy = directives(ask(Inner(), path, COOKIE)[1]["content-security-policy"])
        assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == ["'self'"]
        assert policy["form-action"] == ["'none'"]


def test_a_body_that_is_too_large_is_refused() -> None:
    """Whether its length is told, is told wrong, or is not told."""
    own, half = (COOKIE, ("origin", f"http://{HOST}")), b"x" * (MOST_BODY // 2)
    inner = Inner()
    assert ask(inner, "/saw/tick", *own, ("content-length", str(MOST_BODY + 1)), method="POST")[0] == 413
    assert ask(inner, "/saw/tick", *own, method="POST", parts=(half, half, b"x"))[0] == 413
    assert ask(inner, "/saw/tick", *own, ("content-length", "3"), method="POST", parts=(half, half, b"x"))[0] == 413
    assert ask(inner, "/saw/tick", *own, ("content-length", "-3"), method="POST")[0] == 413
    assert inner.reached == []
    assert ask(inner, "/saw/tick", *own, method="POST", parts=(half, half))[0] == 200
    assert inner.bodies == [half + half]
    upload = "/_nicegui/client/5f-a/upload/12"
    assert ask(inner, upload, *own, method="POST", parts=(half, half, b"x"))[0] == 200
    assert ask(inner, upload, *own, ("content-length", str(MOST_UPLOAD + 1)), method="POST")[0] == 413
    assert ask(inner, upload + "/x", *own, method="POST", parts=(half, half, b"x"))[0] == 413


def test_a_failure_shows_no_traceback() -> None:
    for inner in (Inner("raise"), Inner("text/html", 500), Inner("text/html; charset=utf-8", 404)):
        status, headers, body = ask(inner, "/", COOKIE)
        assert status == (404 if inner.status == 404 else 500)
        assert headers["content-type"] == "text/plain; charset=utf-8"
        assert body in (b"Internal Server Error\n", b"Not Found\n")
    assert (
        ask(Inner("application/json", 409), "/saw/tick", COOKIE)[2] == b"a secret of the traceback"
    )  # said on purpose


def test_a_browser_that_leaves_is_no_failure(caplog: pytest.LogCaptureFixture) -> None:
    async def left(scope: Message, receive: Receive, send: Send) -> None:
        while (await receive())["type"] != "http.disconnect":
            pass
        raise RuntimeError("No response returned.")  # as the web library says it

    with pytest.raises(IndexError):  # nothing was sent
        ask(left, "/", COOKIE)
    assert caplog.text == ""
    ask(Inner("raise"), "/", COOKIE)
    assert "a secret of the traceback" in caplog.text


def test_what_a_proxy_would_say_is_not_heard() -> None:
    """The web library would write such a prefix into the page."""
    inner = Inner()
    ask(inner, "/", COOKIE, ("x-forwarded-prefix", "/<script>"), ("forwarded", "host=evil.example"), ("accept", "*/*"))
    assert {name for name, _ in inner.headers} == {b"host", b"cookie", b"accept"}
