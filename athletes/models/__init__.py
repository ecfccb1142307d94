from athletes.models.access_rules import AccessRules, AccessRulesQuerySet
from athletes.models.children import (
    Child,
    ChildQuerySet,
    Enrolment,
    EnrolmentQuerySet,
    Guardianship,
)
from athletes.models.circumstances import (
    HomeKit,
    HomeKitQuerySet,
    Placement,
    PlacementQuerySet,
    Restriction,
    RestrictionQuerySet,
    RestrictionsOn,
)
from athletes.models.cohorts import Cohort, CohortQuerySet
from athletes.models.consents import Consent, ConsentPurpose, ConsentQuerySet
from athletes.models.growth import GrowthMeasurement, GrowthMeasurementQuerySet
from athletes.models.health_views import HealthView, HealthViewQuerySet
from athletes.models.imports import ImportDraft, ImportDraftQuerySet
from athletes.models.invitations import Invitation, InvitationQuerySet
from athletes.models.outgoing_mail import OutgoingMail, OutgoingMailQuerySet
from athletes.models.recorded_changes import RecordedChange, RecordedChangeQuerySet
from athletes.models.role_changes import RoleChange, RoleChangeQuerySet
from athletes.models.sign_ins import SignIn, SignInQuerySet
from athletes.models.sport import (
    DifferentWeek,
    DifferentWeekQuerySet,
    SportElsewhere,
    SportElsewhereQuerySet,
)
from athletes.models.starting_points import StartingPoint
from athletes.models.users import Role, SessionMail, User

__all__ = [
    "AccessRules",
    "AccessRulesQuerySet",
    "Child",
    "ChildQuerySet",
    "Cohort",
    "CohortQuerySet",
    "Consent",
    "ConsentPurpose",
    "ConsentQuerySet",
    "DifferentWeek",
    "DifferentWeekQuerySet",
    "Enrolment",
    "EnrolmentQuerySet",
    "GrowthMeasurement",
    "GrowthMeasurementQuerySet",
    "Guardianship",
    "HealthView",
    "HealthViewQuerySet",
    "HomeKit",
    "HomeKitQuerySet",
    "ImportDraft",
    "ImportDraftQuerySet",
    "Invitation",
    "InvitationQuerySet",
    "OutgoingMail",
    "OutgoingMailQuerySet",
    "Placement",
    "PlacementQuerySet",
    "RecordedChange",
    "RecordedChangeQuerySet",
    "Restriction",
    "RestrictionQuerySet",
    "RestrictionsOn",
    "Role",
    "RoleChange",
    "RoleChangeQuerySet",
    "SessionMail",
    "SignIn",
    "SignInQuerySet",
    "SportElsewhere",
    "SportElsewhereQuerySet",
    "StartingPoint",
    "User",
]
