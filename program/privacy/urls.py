from django.urls import path

from program.privacy import views

DATA = "family/<uuid:child_id>/data/"

urlpatterns = [
    path("privacy/", views.privacy, name="privacy"),
    path("privacy/copy.schema.json", views.export_schema, name="export_schema"),
    path(DATA, views.child_data, name="child_data"),
    path(f"{DATA}looked-at/", views.health_views, name="health_views"),
    path(f"{DATA}changed/", views.recorded_changes, name="recorded_changes"),
    path(f"{DATA}copy/", views.ask_for_copy, name="ask_for_copy"),
    path(f"{DATA}copy/<uuid:copy_id>/", views.fetch_copy, name="fetch_copy"),
    path(f"{DATA}erase/", views.ask_to_erase, name="ask_to_erase"),
    path(f"{DATA}keep/", views.take_back, name="take_back_erasing"),
    path("people/<int:pk>/changed/", views.account_changes, name="account_changes"),
    path("signed-in/changed/", views.own_account_changes, name="own_account_changes"),
    path("people/erasing/", views.erasures, name="erasures"),
    path("people/erasing/<uuid:erasure_id>/", views.erasure, name="erasure"),
]
