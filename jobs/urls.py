"""Addresses of jobs: how far one is, cancel, run again, its result."""

from django.urls import path

from jobs import views

app_name = "jobs"
urlpatterns = [
    path("jobs/<uuid:job>/", views.status, name="status"),
    path("jobs/<uuid:job>/cancel/", views.cancel, name="cancel"),
    path("jobs/<uuid:job>/again/", views.again, name="again"),
    path("jobs/<uuid:job>/result/", views.result, name="result"),
]
