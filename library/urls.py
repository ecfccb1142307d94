from django.urls import path

from library.figure_editor import views
from library.views import browse, edit, figures, pathways

app_name = "library"

urlpatterns = [
    path("figures/<slug:slug>.svg", figures.figure, name="figure"),
    path("figures/<slug:slug>/<int:number>.svg", figures.own_figure, name="own_figure"),
    path("figures/<slug:slug>/<int:number>/picture", figures.picture_file, name="picture_file"),
    path("", browse.exercise_list, name="list"),
    path("exercises/new/", edit.new_exercise, name="new_exercise"),
    path("exercises/<slug:slug>/", browse.exercise, name="exercise"),
    path("exercises/<slug:slug>/edit/", edit.edit_exercise, name="edit_exercise"),
    path("exercises/<slug:slug>/publish/", edit.publish, name="publish"),
    path("exercises/<slug:slug>/notes/<int:pk>/remove/", edit.remove_note, name="remove_note"),
    path("exercises/<slug:slug>/retire/", edit.retire, name="retire"),
    path("exercises/<slug:slug>/figure/", views.showing, name="showing"),
    path("exercises/<slug:slug>/figure/drawn/", views.drawn, name="drawn"),
    path("exercises/<slug:slug>/figure/picture/", views.picture, name="picture"),
    path("exercises/<slug:slug>/figure/from/<slug:start>/", views.poses, name="poses"),
    path("exercises/<slug:slug>/figure/from/<slug:start>/look/", views.look, name="look"),
    path("exercises/<slug:slug>/figure/from/<slug:start>/arrange/", views.arrange, name="arrange"),
    path("pathways/new/", pathways.new_pathway, name="new_pathway"),
    path("pathways/<slug:slug>/", pathways.pathway, name="pathway"),
    path("pathways/<slug:slug>/edit/", pathways.edit_pathway, name="edit_pathway"),
    path("pathways/<slug:slug>/steps/", pathways.add_step, name="add_step"),
    path("pathways/<slug:slug>/steps/<int:pk>/", pathways.step, name="step"),
    path("pathways/<slug:slug>/steps/<int:pk>/remove/", pathways.remove_step, name="remove_step"),
    path("pathways/<slug:slug>/laterals/", pathways.add_lateral, name="add_lateral"),
    path(
        "pathways/<slug:slug>/laterals/<int:pk>/remove/",
        pathways.remove_lateral,
        name="remove_lateral",
    ),
]
