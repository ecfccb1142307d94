from django.urls import path

from program.welfare import views

# Nothing in these tells whoever looks over a shoulder what they are about.
urlpatterns = [
    path("whom-to-ask/", views.welfare, name="welfare"),
    path("whom-to-ask/all/", views.concerns, name="concerns"),
    path("whom-to-ask/<uuid:concern_id>/", views.concern, name="concern"),
    path("people/whom-to-ask/", views.welfare_officers, name="welfare_officers"),
]
