"""The address at which the running app says that it does."""

from django.urls import path

from running import views

app_name = "running"
urlpatterns = [
    path("alive/", views.alive, name="alive"),
]
