from program.models.assigned import (
    AssignedSession,
    AssignedSessionQuerySet,
    AssignedSlot,
    AssignedSlotQuerySet,
    Outcome,
)
from program.models.attendance import Attendance, AttendanceQuerySet, Presence
from program.models.blocks import Block, BlockQuerySet
from program.models.board import BoardChange, BoardChangeQuerySet
from program.models.breaks import Break, BreakQuerySet
from program.models.calendar_feeds import (
    CalendarFeed,
    CalendarFeedQuerySet,
    TakenOutSession,
    TakenOutSessionQuerySet,
)
from program.models.checks import (
    CheckChange,
    CheckChangeQuerySet,
    StopReason,
    StopReasonQuerySet,
)
from program.models.dose_raises import DoseRaise, DoseRaiseQuerySet
from program.models.idempotency import IdempotencyKey, IdempotencyKeyQuerySet
from program.models.logs import (
    Absence,
    Completion,
    CompletionQuerySet,
    CompletionState,
    SlotResult,
    SlotResultQuerySet,
)
from program.models.pain import PainReport, PainReportQuerySet
from program.models.privacy import ChildCopy, ChildCopyQuerySet, Erasure, ErasureQuerySet
from program.models.progressions import Progression, ProgressionKindChoices, ProgressionQuerySet
from program.models.questions import Question, QuestionQuerySet
from program.models.read_by_family import ReadByFamily, ReadByFamilyQuerySet
from program.models.recalls import Recall, RecallQuerySet
from program.models.refits import Refit, RefitQuerySet
from program.models.reports import (
    EarlierReport,
    EarlierReportQuerySet,
    Report,
    ReportQuerySet,
)
from program.models.resolutions import Resolution, ResolutionQuerySet
from program.models.safety import SafetyRules
from program.models.session_news import SessionNews, SessionNewsQuerySet
from program.models.session_notes import SessionNote, SessionNoteQuerySet
from program.models.sessions import (
    FitRule,
    Override,
    OverrideQuerySet,
    Part,
    PartKind,
    PartQuerySet,
    Place,
    Session,
    SessionQuerySet,
    Slot,
    SlotQuerySet,
)
from program.models.standing_decisions import (
    Lasts,
    StandingDecision,
    StandingDecisionQuerySet,
)
from program.models.submissions import (
    Submission,
    SubmissionKind,
    SubmissionQuerySet,
    SubmissionState,
)
from program.models.templates import Template, TemplateKind, TemplateQuerySet
from program.models.upload_attempts import UploadAttempt, UploadAttemptQuerySet
from program.models.ways_back import WayBackStep, WayBackStepQuerySet
from program.models.welfare import (
    Concern,
    ConcernEntry,
    ConcernLook,
    WelfareOfficer,
    WelfareWords,
)

__all__ = [
    "Absence",
    "AssignedSession",
    "AssignedSessionQuerySet",
    "AssignedSlot",
    "AssignedSlotQuerySet",
    "Attendance",
    "AttendanceQuerySet",
    "Block",
    "BlockQuerySet",
    "BoardChange",
    "BoardChangeQuerySet",
    "Break",
    "BreakQuerySet",
    "CalendarFeed",
    "CalendarFeedQuerySet",
    "CheckChange",
    "CheckChangeQuerySet",
    "ChildCopy",
    "ChildCopyQuerySet",
    "Completion",
    "CompletionQuerySet",
    "CompletionState",
    "Concern",
    "ConcernEntry",
    "ConcernLook",
    "DoseRaise",
    "DoseRaiseQuerySet",
    "EarlierReport",
    "EarlierReportQuerySet",
    "Erasure",
    "ErasureQuerySet",
    "FitRule",
    "IdempotencyKey",
    "IdempotencyKeyQuerySet",
    "Lasts",
    "Outcome",
    "Override",
    "OverrideQuerySet",
    "PainReport",
    "PainReportQuerySet",
    "Part",
    "PartKind",
    "PartQuerySet",
    "Place",
    "Presence",
    "Progression",
    "ProgressionKindChoices",
    "ProgressionQuerySet",
    "Question",
    "QuestionQuerySet",
    "ReadByFamily",
    "ReadByFamilyQuerySet",
    "Recall",
    "RecallQuerySet",
    "Refit",
    "RefitQuerySet",
    "Report",
    "ReportQuerySet",
    "Resolution",
    "ResolutionQuerySet",
    "SafetyRules",
    "Session",
    "SessionNews",
    "SessionNewsQuerySet",
    "SessionNote",
    "SessionNoteQuerySet",
    "SessionQuerySet",
    "Slot",
    "SlotQuerySet",
    "SlotResult",
    "SlotResultQuerySet",
    "StandingDecision",
    "StandingDecisionQuerySet",
    "StopReason",
    "StopReasonQuerySet",
    "Submission",
    "SubmissionKind",
    "SubmissionQuerySet",
    "SubmissionState",
    "TakenOutSession",
    "TakenOutSessionQuerySet",
    "Template",
    "TemplateKind",
    "TemplateQuerySet",
    "UploadAttempt",
    "UploadAttemptQuerySet",
    "WayBackStep",
    "WayBackStepQuerySet",
    "WelfareOfficer",
    "WelfareWords",
]
