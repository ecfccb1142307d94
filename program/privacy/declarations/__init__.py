"""All that is declared: what is held of people, and what holds nothing of them."""

from typing import Final

from django.db.models import Model

from program.privacy.declarations.body import BODY
from program.privacy.declarations.people import PEOPLE
from program.privacy.declarations.program_itself import PROGRAM_ITSELF
from program.privacy.declarations.training import TRAINING
from program.privacy.declarations.welfare import WELFARE
from program.privacy.declaring import Held, Nobodys

DECLARED: Final[tuple[Held | Nobodys, ...]] = (
    *PEOPLE,
    *BODY,
    *TRAINING,
    *WELFARE,
    *PROGRAM_ITSELF,
)

HELD: Final = tuple(each for each in DECLARED if isinstance(each, Held))
OF_A_CHILD: Final = tuple(each for each in HELD if each.child)
OF_AN_ACCOUNT: Final = tuple(each for each in HELD if not each.child)
NOBODYS: Final = tuple(each for each in DECLARED if isinstance(each, Nobodys))


def declaration_of(model: type[Model]) -> Held | Nobodys | None:
    return next((each for each in DECLARED if each.model is model), None)
