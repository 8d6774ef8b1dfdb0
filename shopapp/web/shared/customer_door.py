"""The cookie behind which a customer is let in: its name and place, and how it is taken back."""

from django.http import HttpResponse

COOKIE = "customer"
PATH = "/approvals/"


def forget_door(response: HttpResponse) -> None:
    """Take the cookie back."""
    response.delete_cookie(COOKIE, path=PATH, samesite="Lax")
