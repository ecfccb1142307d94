from django.urls import path

from athletes.views import (
    accepting,
    children,
    circumstances,
    growth,
    imports,
    membership,
    people,
    placements,
    post,
)

app_name = "athletes"

urlpatterns = [
    path("mail/", post.mail_setting, name="mail_setting"),
    path("mail/stop/<str:token>/", post.stop_mail, name="stop_mail"),
    path("children/", children.children_list, name="children"),
    path("children/new/", children.new_child, name="new_child"),
    path("children/import/", imports.import_children, name="import"),
    path("children/import/sample/", imports.import_sample, name="import_sample"),
    path("children/import/<uuid:public_id>/", imports.import_preview, name="import_preview"),
    path("children/import/<uuid:public_id>/add/", imports.import_confirm, name="import_confirm"),
    path("children/import/<uuid:public_id>/drop/", imports.import_drop, name="import_drop"),
    path("children/placements/", placements.all_placements, name="all_placements"),
    path(
        "children/placements/<int:cohort_id>/<slug:slug>/",
        placements.placements,
        name="placements",
    ),
    path(
        "children/placements/<int:cohort_id>/<slug:slug>/move/",
        placements.move_child,
        name="move_child",
    ),
    path("children/<uuid:public_id>/", children.child_page, name="child"),
    path("children/<uuid:public_id>/edit/", children.edit_child, name="edit_child"),
    path("children/<uuid:public_id>/growing/", children.growing, name="growing"),
    path("children/<uuid:public_id>/growth/", growth.growth, name="growth"),
    path("children/<uuid:public_id>/growth/agree/", growth.growth_consent, name="growth_consent"),
    path(
        "children/<uuid:public_id>/growth/<int:pk>/delete/",
        growth.measurement_out,
        name="measurement_out",
    ),
    path("children/<uuid:public_id>/enrol/", membership.enrol_child, name="enrol_child"),
    path("children/<uuid:public_id>/withdraw/", membership.withdraw_child, name="withdraw_child"),
    path(
        "children/<uuid:public_id>/enrolments/<int:pk>/end/",
        membership.end_enrolment,
        name="end_enrolment",
    ),
    path("children/<uuid:public_id>/invite/", membership.invite_family, name="invite_family"),
    path(
        "children/<uuid:public_id>/invitations/<int:pk>/withdraw/",
        membership.withdraw_family_invitation,
        name="withdraw_family_invitation",
    ),
    path(
        "children/<uuid:public_id>/guardians/<int:pk>/remove/",
        membership.remove_guardian,
        name="remove_guardian",
    ),
    path("children/<uuid:public_id>/kit/", circumstances.kit, name="kit"),
    path(
        "children/<uuid:public_id>/restrictions/",
        circumstances.restrictions,
        name="restrictions",
    ),
    path(
        "children/<uuid:public_id>/restrictions/<int:pk>/lift/",
        circumstances.lift_restriction,
        name="lift_restriction",
    ),
    path(
        "children/<uuid:public_id>/placements/",
        placements.child_placements,
        name="child_placements",
    ),
    path(
        "children/<uuid:public_id>/placements/first/",
        placements.first_placement,
        name="first_placement",
    ),
    path("people/", people.people, name="people"),
    path("people/access/", people.access_rules, name="access_rules"),
    path("people/invite/", people.invite_coach, name="invite_coach"),
    path(
        "people/invitations/<int:pk>/withdraw/",
        people.withdraw_invitation,
        name="withdraw_invitation",
    ),
    path("people/cohorts/new/", people.new_cohort, name="new_cohort"),
    path("people/cohorts/<int:pk>/", people.edit_cohort, name="edit_cohort"),
    path("invitation/", accepting.invitation, name="invitation"),
    path("invitation/<str:token>/", accepting.open_link, name="accept"),
]
