"""What the list of cases is searched and narrowed by."""

import django_filters
from django import forms
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.http import HttpRequest

from portfolio.access import visible_portfolios, visible_record_sets
from portfolio.models import Case, CaseState, Portfolio, Stage
from portfolio.searching import folded


def _own_portfolios(request: HttpRequest) -> QuerySet[Portfolio]:
    return visible_portfolios(request.user).order_by("name", "pk")


def _select() -> forms.Select:
    return forms.Select(attrs={"class": "form-select"})


class CaseFilter(django_filters.FilterSet):
    """Search words, state, stage, and the portfolio where there are several."""

    search = django_filters.CharFilter(
        method="found",
        label="Search",
        widget=forms.TextInput(attrs={"type": "search", "class": "form-control", "autocomplete": "off"}),
    )
    state = django_filters.ChoiceFilter(
        choices=CaseState.choices, label="State", empty_label="any", widget=_select()
    )
    stage = django_filters.ChoiceFilter(
        method="with_records", choices=Stage.choices, label="Records of", empty_label="any", widget=_select()
    )
    portfolio = django_filters.ModelChoiceFilter(
        field_name="patient__portfolio",
        to_field_name="public_id",
        queryset=_own_portfolios,
        label="Portfolio",
        empty_label="all",
        widget=_select(),
    )

    class Meta:
        model = Case
        fields = ("search", "state", "stage", "portfolio")

    def found(self, cases: QuerySet[Case], name: str, value: str) -> QuerySet[Case]:
        """Cases whose code, note, patient code or locator holds every word."""
        for word in folded(value).split():
            cases = cases.filter(Q(searchable__contains=word) | Q(patient__searchable__contains=word))
        return cases

    def with_records(self, cases: QuerySet[Case], name: str, value: str) -> QuerySet[Case]:
        """Cases that have records of a stage.

        As a question of its own: a join would narrow what is counted over all records later on.
        """
        records = visible_record_sets(self.request.user).filter(stage=value, case=OuterRef("pk"))
        return cases.filter(Exists(records))
