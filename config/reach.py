"""From where the app is reached: this machine alone, or others by name through a proxy that holds the certificate."""

from collections.abc import Callable
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.http import HttpRequest, HttpResponseBase

THIS_MACHINE = ("127.0.0.1", "localhost", "[::1]")
HTTPS_PROMISE_SECONDS = 30 * 24 * 60 * 60
"""How long a browser asks by https only, counted anew at each visit; so long a lost certificate locks people out."""

FORWARDED = (
    "HTTP_FORWARDED",
    "HTTP_X_FORWARDED_FOR",
    "HTTP_X_FORWARDED_HOST",
    "HTTP_X_FORWARDED_PORT",
    "HTTP_X_FORWARDED_PROTO",
)
"""What a proxy says of a request it passes on; anybody else could only pretend."""

# Without https: on 127.0.0.1 by plain http no certificate can exist. Cookies marked Secure would not come back, and
# a redirect to https or a promise of it (HSTS) would lock the person out.
NEED_HTTPS = [
    "security.W004",  # no HSTS
    "security.W008",  # no redirect to https
    "security.W012",  # session cookie not marked Secure
    "security.W016",  # CSRF cookie not marked Secure
]
# With https: the promise is made for the app's own name only. Other services under that name, and the lists that
# browsers ship, are for whoever holds the domain to decide.
BEYOND_THE_NAME = [
    "security.W005",  # HSTS leaves subdomains out
    "security.W021",  # HSTS is not offered to the lists of browsers
]

Network = IPv4Network | IPv6Network


@dataclass(frozen=True, slots=True)
class Reach:
    """Host names besides this machine's own, and the networks of proxies that hold a certificate for them.

    A proxy means https throughout: plain http is sent on to it, and cookies come back by it alone.
    """

    names: tuple[str, ...] = ()
    proxies: tuple[Network, ...] = ()

    def __post_init__(self) -> None:
        if self.names and not self.proxies:
            raise ImproperlyConfigured(
                f"FOLIOWRIGHT_HOSTS is {', '.join(self.names)!r} while FOLIOWRIGHT_HTTPS_PROXY is empty: other "
                "machines would send passwords and records for everybody on the way to read. Put a proxy with a "
                "certificate in front and name its address in FOLIOWRIGHT_HTTPS_PROXY, or leave both empty."
            )
        if self.proxies and not self.names:
            raise ImproperlyConfigured(
                "FOLIOWRIGHT_HTTPS_PROXY names a proxy while FOLIOWRIGHT_HOSTS is empty: say by which name the proxy "
                "is asked for the app, such as portfolio.clinic.example, or leave both empty."
            )

    @property
    def https(self) -> bool:
        return bool(self.proxies)

    @property
    def allowed_hosts(self) -> list[str]:
        return [*THIS_MACHINE, *self.names]

    @property
    def trusted_origins(self) -> list[str]:
        """Where forms may come from, besides the address that was asked for itself."""
        return [f"https://{name}" for name in self.names]

    @property
    def silenced_checks(self) -> list[str]:
        """The deployment checks that this way of being reached leaves no sense; all others are heard."""
        return BEYOND_THE_NAME if self.https else NEED_HTTPS

    def is_proxy(self, address: str) -> bool:
        """Whether the text is the address of a proxy named."""
        read = _address(address)
        return read is not None and any(read in network for network in self.proxies)

    def asked_from(self, peer: str, forwarded_for: str) -> str:
        """The machine a request comes from: the last one on the way that is no proxy of ours.

        `peer` is the other end of the connection, `forwarded_for` the header X-Forwarded-For, where each proxy
        has put the other end of its own connection last. What stands before that is anybody's word.
        """
        found = peer
        for entry in reversed(forwarded_for.split(",")):
            if not self.is_proxy(found):
                break
            read = _address(entry.strip())
            if read is None:
                break
            found = str(read)
        return found


def _address(text: str) -> IPv4Address | IPv6Address | None:
    try:
        read = ip_address(text)
    except ValueError:
        return None
    return getattr(read, "ipv4_mapped", None) or read


def proxys_word_only(
    get_response: Callable[[HttpRequest], HttpResponseBase],
) -> Callable[[HttpRequest], HttpResponseBase]:
    """Middleware, the first: who asked and whether by https is believed from a proxy named, and from nobody else.

    Limits on signing in count by REMOTE_ADDR, which names the asking machine afterwards, not the proxy.
    """

    def answer(request: HttpRequest) -> HttpResponseBase:
        reach: Reach = settings.REACH
        peer = request.META.get("REMOTE_ADDR", "")
        if reach.is_proxy(peer):
            request.META["REMOTE_ADDR"] = reach.asked_from(peer, request.META.get("HTTP_X_FORWARDED_FOR", ""))
        else:
            for name in FORWARDED:
                request.META.pop(name, None)
        return get_response(request)

    return answer
