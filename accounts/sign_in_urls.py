"""Addresses of the sign-in package, under the names it expects; only those a house without mail needs."""

from allauth.account import views as package
from django.urls import include, path

from accounts import views

urlpatterns = [
    path("login/", views.SignIn.as_view(), name="account_login"),
    path("logout/", package.logout, name="account_logout"),
    path("inactive/", package.account_inactive, name="account_inactive"),
    path("reauthenticate/", package.reauthenticate, name="account_reauthenticate"),
    path("password/change/", package.password_change, name="account_change_password"),
    path("password/forgotten/", views.forgotten_password, name="account_reset_password"),
    path("signup/", views.closed_sign_up, name="account_signup"),
    path("2fa/", include("allauth.mfa.urls")),
]
