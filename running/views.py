"""The sign of life for health checks."""

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe


@login_not_required
@require_safe
def alive(request: HttpRequest) -> HttpResponse:
    """200 when the database answers, else 503; names nobody and touches no session."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return HttpResponse("The database does not answer.\n", status=503, content_type="text/plain")
    return HttpResponse("alive\n", content_type="text/plain")
