from django.urls import path

from athletes.views import children, people

app_name = "athletes"

urlpatterns = [
    path("children/", children.children_list, name="children"),
    path("people/", people.people, name="people"),
    path("people/invite/", people.invite_coach, name="invite_coach"),
    path(
        "people/invitations/<int:pk>/withdraw/",
        people.withdraw_invitation,
        name="withdraw_invitation",
    ),
    path("people/cohorts/new/", people.new_cohort, name="new_cohort"),
    path("people/cohorts/<int:pk>/", people.edit_cohort, name="edit_cohort"),
    path("invitation/<str:token>/", people.accept, name="accept"),
]
