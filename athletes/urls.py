from django.urls import path

from athletes.views import children

app_name = "athletes"

urlpatterns = [
    path("children/", children.children_list, name="children"),
]
