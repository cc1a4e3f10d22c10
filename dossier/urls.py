"""Addresses of the printed case."""

from django.urls import path

from dossier import views

app_name = "dossier"
urlpatterns = [path("cases/<uuid:case>/print/", views.case_print, name="case_print")]
