"""Answers for pages that save as one works: always JSON, with the status that says what to do next."""

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

from django.core.exceptions import ObjectDoesNotExist
from django.db import OperationalError
from django.http import HttpRequest, HttpResponseBase, JsonResponse
from django.views.decorators.http import require_POST

from accounts.admission import signed_in
from portfolio.forms.bodies import BodyRefused

REFUSED = 422
CONFLICT = 409
View = TypeVar("View", bound=Callable[..., HttpResponseBase])
BUSY_WORDS = "The database is busy; the change is kept on the page and sent again."


def answers_in_json(gone: type[ObjectDoesNotExist], gone_words: str) -> Callable[[View], View]:
    """POST by a signed-in person; a busy database gives 503, a body of another shape 400.

    A row that was removed while the request waited for it (its class of exception is `gone`) gives 404 with words.
    """

    def answering(view: View) -> View:
        @wraps(view)
        def answered(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            try:
                return view(request, *args, **kwargs)
            except BodyRefused as refusal:
                return JsonResponse(
                    {"message": f"The page sent something unexpected: {refusal}."}, status=400
                )
            except gone:
                return JsonResponse({"message": gone_words}, status=404)
            except OperationalError:
                return JsonResponse({"message": BUSY_WORDS}, status=503, headers={"Retry-After": "1"})

        return cast(View, require_POST(signed_in(answered)))

    return answering
