"""Addresses of people: first run, one-time links, own account, the administrator's pages."""

from django.urls import path

from accounts import people_views, views

app_name = "accounts"
urlpatterns = [
    path("first-run/", views.first_run, name="first_run"),
    path("welcome/<str:token>/", views.welcome, name="welcome"),
    path("account/", views.own_account, name="own_account"),
    path("account/end-other-sessions/", views.end_other_sessions, name="end_other_sessions"),
    path("search/", views.search, name="search"),
    path("people/", people_views.people, name="people"),
    path("people/new/", people_views.person_new, name="person_new"),
    path("people/<uuid:person>/", people_views.person, name="person"),
    path("people/<uuid:person>/one-time-link/", people_views.one_time_link, name="one_time_link"),
    path("people/<uuid:person>/deactivate/", people_views.deactivate, name="deactivate"),
    path("people/<uuid:person>/reactivate/", people_views.reactivate, name="reactivate"),
    path(
        "people/<uuid:person>/make-administrator/", people_views.make_administrator, name="make_administrator"
    ),
    path(
        "people/<uuid:person>/unmake-administrator/",
        people_views.unmake_administrator,
        name="unmake_administrator",
    ),
    path(
        "people/<uuid:person>/remove-second-factor/",
        people_views.remove_second_factor,
        name="remove_second_factor",
    ),
]
