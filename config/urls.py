"""Addresses of the whole application; each room keeps its own list."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("accounts/", include("accounts.sign_in_urls")),
    path("", include("accounts.urls")),
    path("", include("jobs.urls")),
    path("", include("portfolio.urls")),
    path("", include("imaging.urls")),
    path("", include("plans.urls")),
    path("", include("dossier.urls")),
    path("", include("desk.urls")),
    path("", include("running.urls")),
]

handler500 = "accounts.error_pages.fault"
