"""What a vet can say, as frozen types: one dataclass a finding, units in the field names.

Unknown is ``None``, never 0 or an empty string. Every size is in millimetres, every age in days.
The names of fields and values are the contract of README's findings table.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Side(StrEnum):
    """Where in the tract, as the animal stands (left is the animal's left)."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"
    BODY = "body"


class AnimalClass(StrEnum):
    """Age class as spoken with the tag."""

    HEIFER = "heifer"
    FIRST_CALVER = "first_calver"
    COW = "cow"


class TagColour(StrEnum):
    """Colour of the tag, where it was said with the number."""

    YELLOW = "yellow"
    BLUE = "blue"
    GREEN = "green"
    ORANGE = "orange"
    PINK = "pink"
    PURPLE = "purple"
    RED = "red"
    WHITE = "white"


class TractLie(StrEnum):
    """Where the tract lies in front of the pelvic brim, and whether it was drawn back."""

    OVER_THE_BRIM = "over_the_brim"
    PELVIC = "pelvic"
    DRAWN_BACK = "drawn_back"
    NOT_DRAWN_BACK = "not_drawn_back"
    NOT_REACHED = "not_reached"


class OvarianStructure(StrEnum):
    """What is seen on an ovary."""

    CORPUS_LUTEUM = "corpus_luteum"
    CORPUS_HAEMORRHAGICUM = "corpus_haemorrhagicum"
    REGRESSING_CORPUS_LUTEUM = "regressing_corpus_luteum"
    FOLLICLE = "follicle"
    SMALL_FOLLICLES = "small_follicles"
    FOLLICULAR_CYST = "follicular_cyst"
    LUTEAL_CYST = "luteal_cyst"
    CYST = "cyst"
    PARAOVARIAN_CYST = "paraovarian_cyst"
    STATIC = "static"
    NONE = "none"
    ADHESION = "adhesion"
    TUMOUR = "tumour"
    OVULATION = "ovulation"
    HYDROSALPINX = "hydrosalpinx"
    BLOCKED_TUBE = "blocked_tube"


class Wall(StrEnum):
    """Wall of a fluid-filled structure, where it was named and not measured."""

    THIN = "thin"
    THICK = "thick"


class UterineState(StrEnum):
    """What is seen or felt of the uterus."""

    CLEAR = "clear"
    FLUID = "fluid"
    CLOUDY_FLUID = "cloudy_fluid"
    PYOMETRA = "pyometra"
    ENDOMETRITIS = "endometritis"
    METRITIS = "metritis"
    MUCOMETRA = "mucometra"
    OEDEMA = "oedema"
    ADHESION = "adhesion"
    GOOD_TONE = "good_tone"
    POOR_TONE = "poor_tone"
    INVOLUTED = "involuted"
    NOT_INVOLUTED = "not_involuted"
    RETAINED_MEMBRANES = "retained_membranes"
    MUMMIFIED = "mummified"
    MACERATED = "macerated"
    SEGMENT_MISSING = "segment_missing"
    FREEMARTIN = "freemartin"
    PUS = "pus"
    DIRTY = "dirty"
    WHITES = "whites"
    URINE_POOLING = "urine_pooling"
    VAGINAL_AIR = "vaginal_air"
    HORNS_ALIKE = "horns_alike"
    LARGER = "larger"


class PregnancyStatus(StrEnum):
    """The three answers to 'is she in calf'."""

    PREGNANT = "pregnant"
    OPEN = "open"
    UNCERTAIN = "uncertain"


class Stage(StrEnum):
    """How far a pregnancy is, where it was said in words and not in days."""

    EARLY = "early"
    MID = "mid"
    LATE = "late"
    SHORT_BRED = "short_bred"
    SPRINGING = "springing"
    TOO_FAR_TO_DATE = "too_far_to_date"


class StatedAs(StrEnum):
    """The unit in which an age was spoken."""

    DAYS = "days"
    WEEKS = "weeks"
    MONTHS = "months"


class Arrangement(StrEnum):
    """How twins lie."""

    SAME_HORN = "same_horn"
    ONE_EACH_HORN = "one_each_horn"


class Membranes(StrEnum):
    """The fetal membranes as seen."""

    ATTACHED = "attached"
    DETACHED = "detached"


class LandmarkName(StrEnum):
    """Structures of the conceptus whose first sight dates a pregnancy."""

    EMBRYO = "embryo"
    PREGNANCY_FLUID = "pregnancy_fluid"
    AMNION = "amnion"
    ALLANTOIS = "allantois"
    SPINAL_CORD = "spinal_cord"
    EYE_ORBIT = "eye_orbit"
    FORELIMB_BUDS = "forelimb_buds"
    HINDLIMB_BUDS = "hindlimb_buds"
    LIMB_BUDS = "limb_buds"
    PLACENTOMES = "placentomes"
    UMBILICAL_CORD = "umbilical_cord"
    SPLIT_HOOVES = "split_hooves"
    MOVEMENT = "movement"
    RIBS = "ribs"
    GENITAL_TUBERCLE = "genital_tubercle"
    MEMBRANE_SLIP = "membrane_slip"
    FREMITUS = "fremitus"


class Quantity(StrEnum):
    """What was measured on a conceptus."""

    CROWN_RUMP_LENGTH = "crown_rump_length"
    BIPARIETAL_DIAMETER = "biparietal_diameter"
    TRUNK_DIAMETER = "trunk_diameter"
    EYE_DIAMETER = "eye_diameter"
    AMNIOTIC_VESICLE_DIAMETER = "amniotic_vesicle_diameter"
    PLACENTOME_LENGTH = "placentome_length"
    FEMUR_LENGTH = "femur_length"


class Sex(StrEnum):
    """Sex of a fetus as called."""

    MALE = "male"
    FEMALE = "female"
    UNDETERMINED = "undetermined"


class SweepStructure(StrEnum):
    """The stations of the sweep, in the order in which the tract is scanned."""

    CERVIX = "cervix"
    BODY = "body"
    LEFT_HORN = "left_horn"
    LEFT_OVARY = "left_ovary"
    RIGHT_HORN = "right_horn"
    RIGHT_OVARY = "right_ovary"


class SeenRemark(StrEnum):
    """What was said of a station of the sweep when no finding was named."""

    NORMAL = "normal"
    NOT_SEEN = "not_seen"
    COULD_NOT_REACH = "could_not_reach"


class PlanAction(StrEnum):
    """What the vet means to do next, in the vet's own words; never a proposal of ours."""

    RECHECK = "recheck"
    TREAT = "treat"
    BREED = "breed"
    DO_NOT_BREED = "do_not_breed"
    CULL = "cull"
    DRY_OFF = "dry_off"
    SAMPLE = "sample"
    WATCH = "watch"
    SEPARATE = "separate"
    LEAVE = "leave"
    TERMINATE = "terminate"


class TreatmentClass(StrEnum):
    """Generic class of a treatment the vet named. Product and dose are never recorded here."""

    PROSTAGLANDIN = "prostaglandin"
    GNRH = "gnrh"
    HCG = "hcg"
    PROGESTERONE_DEVICE = "progesterone_device"
    DEVICE_REMOVAL = "device_removal"
    SYNCHRONISATION = "synchronisation"
    INTRAUTERINE = "intrauterine"
    ANTIBIOTIC = "antibiotic"
    ANTI_INFLAMMATORY = "anti_inflammatory"
    MINERALS = "minerals"


class PastEvent(StrEnum):
    """An earlier event of the animal that was spoken of."""

    SERVED = "served"
    CALVED = "calved"


@dataclass(frozen=True, slots=True)
class Animal:
    """Which animal is in hand. ``tag`` is a string of digits: leading zeros count. Where a person
    chose one of several animals of the list, it is her tag as it stands there.

    ``listed``: whether the herd list has her; False from words alone where that was said.

    ``tag_alone``: the digits opened a breath with no word such as cow or tag before them, so they
    may be taken as a tag only where a tag is awaited.
    """

    tag: str | None = None
    electronic_id: str | None = None
    listed: bool | None = None
    animal_class: AnimalClass | None = None
    tag_alone: bool = False
    tag_colour: TagColour | None = None


@dataclass(frozen=True, slots=True)
class Ovary:
    """A structure on an ovary. ``unit_assumed``: no unit was spoken, millimetres were taken."""

    side: Side | None
    structure: OvarianStructure
    size_mm: float | None = None
    second_size_mm: float | None = None
    cavity: bool | None = None
    cavity_mm: float | None = None
    wall: Wall | None = None
    wall_mm: float | None = None
    count: int | None = None
    unit_assumed: bool = False


@dataclass(frozen=True, slots=True)
class Uterus:
    """A state of the uterus; ``depth_mm`` is the depth of fluid."""

    side: Side | None
    state: UterineState
    depth_mm: float | None = None
    unit_assumed: bool = False


@dataclass(frozen=True, slots=True)
class Pregnancy:
    """In calf or not. A spoken range "forty to forty-five" is 40 with ``age_to_days`` 45.

    ``stated_as`` None beside an age: no unit was spoken, days were taken. ``status_assumed``: only
    an age was spoken ("about forty days") and pregnant was taken.
    """

    status: PregnancyStatus
    age_days: int | None = None
    age_to_days: int | None = None
    approximate: bool = False
    side: Side | None = None
    stated_as: StatedAs | None = None
    status_assumed: bool = False
    stage: Stage | None = None


@dataclass(frozen=True, slots=True)
class Conceptus:
    """How many embryos or fetuses, and how they lie."""

    count: int
    arrangement: Arrangement | None = None


@dataclass(frozen=True, slots=True)
class Viability:
    """Signs of life. ``fetus`` numbers the fetus where one of several was named."""

    heartbeat: bool | None = None
    movement: bool | None = None
    membranes: Membranes | None = None
    loss: bool | None = None
    fetus: int | None = None


@dataclass(frozen=True, slots=True)
class Landmark:
    """A structure of the conceptus seen, or looked for and not seen."""

    name: LandmarkName
    seen: bool = True
    fetus: int | None = None


@dataclass(frozen=True, slots=True)
class Measurement:
    """A measured size of the conceptus in millimetres."""

    quantity: Quantity
    size_mm: float
    fetus: int | None = None
    unit_assumed: bool = False


@dataclass(frozen=True, slots=True)
class FetalSex:
    """Sex as called, and of which fetus where one of several was named."""

    sex: Sex
    fetus: int | None = None


@dataclass(frozen=True, slots=True)
class Seen:
    """A station of the sweep closed without a finding: normal, not seen, could not reach."""

    structure: SweepStructure
    remark: SeenRemark | None = None


@dataclass(frozen=True, slots=True)
class Lie:
    """Where the tract lies; what is out of the hand's reach can be missed."""

    where: TractLie


@dataclass(frozen=True, slots=True)
class TractScore:
    """Reproductive tract score of a heifer, 1 (infantile) to 5 (cycling), as it was said."""

    score: int


@dataclass(frozen=True, slots=True)
class Condition:
    """Body condition. ``scale`` is the top of the scale spoken (5, 8, 9, 10); never converted."""

    score: float
    scale: int | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """What is to happen, in the vet's words. A fortnight is 14 days."""

    action: PlanAction
    in_days: int | None = None
    on_date: date | None = None
    treatment_class: TreatmentClass | None = None


@dataclass(frozen=True, slots=True)
class History:
    """An earlier service or calving that was spoken of."""

    event: PastEvent
    days_ago: int | None = None
    on_date: date | None = None


@dataclass(frozen=True, slots=True)
class Note:
    """Words kept as spoken."""

    text: str


Finding = (
    Animal
    | Ovary
    | Uterus
    | Pregnancy
    | Conceptus
    | Viability
    | Landmark
    | Measurement
    | FetalSex
    | Seen
    | Lie
    | TractScore
    | Condition
    | Plan
    | History
    | Note
)

FINDING_NAMES: dict[type, str] = {
    Animal: "animal",
    Ovary: "ovary",
    Uterus: "uterus",
    Pregnancy: "pregnancy",
    Conceptus: "conceptus",
    Viability: "viability",
    Landmark: "landmark",
    Measurement: "measurement",
    FetalSex: "fetal_sex",
    Seen: "seen",
    Lie: "lie",
    TractScore: "tract_score",
    Condition: "condition",
    Plan: "plan",
    History: "history",
    Note: "note",
}


class CommandName(StrEnum):
    """What can be told to the tool rather than recorded of the animal."""

    SCRATCH = "scratch"
    READ_BACK = "read_back"
    NEXT_ANIMAL = "next_animal"
    CLOSE = "close"
    CLOSE_VISIT = "close_visit"
    CHANGE = "change"
    PAUSE = "pause"
    RESUME = "resume"
    NOTE = "note"
    HELP = "help"
    SIZE = "size"
    AGAIN = "again"
    WAIT = "wait"
    ANSWER = "answer"
    BACK_TO = "back_to"
    RETAG = "retag"
    REOPEN = "reopen"
    CLOSE_ANYWAY = "close_anyway"


class AnswerWord(StrEnum):
    """A spoken answer to a query."""

    YES = "yes"
    NO = "no"
    CHOICE = "choice"
    LEAVE = "leave"


@dataclass(frozen=True, slots=True)
class Command:
    """A spoken command.

    ``animal``: for next_animal, the animal named with it, if any; for back_to, the animal that is
    looked at again (None: the one before); for retag, what the animal in hand is called rightly.
    ``number``: for change, the new number ("make that twenty-four"), as spoken: a size in mm where
    a unit was spoken or assumed, days for an age, a score; for answer, which choice (1 = first).
    ``side``: for change, the new side ("no, right"). ``other_side``: for change, not the one said.
    ``instead_of``: for change, the number that was wrong ("sixteen, not sixty").
    SIZE gives what was just named its size or its side, or both: ``number`` in mm, ``side``.
    ``answer``: for answer, what was answered.
    A correction of a whole finding ("correction, left ovary CL twenty-four") is CHANGE followed by
    the findings of the same breath.
    """

    name: CommandName
    animal: Animal | None = None
    number: float | None = None
    side: Side | None = None
    answer: AnswerWord | None = None
    instead_of: float | None = None
    other_side: bool | None = None


@dataclass(frozen=True, slots=True)
class Said:
    """A finding or a command with the words that carry it.

    ``start``, ``end``: character span in the normalised phrase; ``words``: that stretch of it.
    """

    what: Finding | Command
    start: int
    end: int
    words: str


@dataclass(frozen=True, slots=True)
class Unread:
    """Where and why a phrase could not be read. ``at``: character in the normalised phrase."""

    at: int
    sentence: str
    expected: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """What one phrase says.

    ``phrase`` as given, ``normal`` after normalisation, ``said`` in the order of speech.
    ``others``: further readings of the same words that carry other values; not empty means a query.
    ``unread``: set when the phrase, or its tail, could not be read; ``said`` is then empty.
    """

    phrase: str
    normal: str
    said: tuple[Said, ...] = ()
    others: tuple[tuple[Said, ...], ...] = ()
    unread: Unread | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings alone, in the order of speech."""
        return tuple(s.what for s in self.said if not isinstance(s.what, Command))

    @property
    def command(self) -> Command | None:
        """The command of the breath, of which there is at most one."""
        return next((s.what for s in self.said if isinstance(s.what, Command)), None)


RENAMED = {"treatment_class": "class"}
"""Fields that have another name where they leave the program: in JSON and in findings.csv."""


def plain(value: object) -> object:
    """A value as JSON knows it: enums as their words, dates as ISO 8601."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, StrEnum):
        return str(value)
    return value


def finding_record(finding: Finding) -> dict[str, object]:
    """A finding as a flat record, the contract of ``parse --json``: 'finding' and its fields."""
    record: dict[str, object] = {"finding": FINDING_NAMES[type(finding)]}
    for field in dataclasses.fields(finding):
        record[RENAMED.get(field.name, field.name)] = plain(getattr(finding, field.name))
    return record
