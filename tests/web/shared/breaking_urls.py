"""The shop's own addresses and one that breaks down."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.urls import path

from shopapp import urls

handler400, handler500 = urls.handler400, urls.handler500


@login_not_required
def breaks(request: HttpRequest) -> HttpResponse:
    raise ValueError("secret insides of the shop")


urlpatterns = [path("breaks/", breaks, name="breaks"), *urls.urlpatterns]
