"""The HTTP of WHIP (RFC 9725), for publishers that have WebRTC of their own."""

import urllib.request


def request(method, url, key, body=None):
    """Sends a request with a key; status, Location and body of what is answered."""
    headers = {"authorization": f"Bearer {key}"}
    if body is not None:
        headers["content-type"] = "application/sdp"
    data = None if body is None else body.encode()
    with urllib.request.urlopen(urllib.request.Request(url, data, headers, method=method)) as answer:
        return answer.status, answer.headers.get("location"), answer.read().decode()
