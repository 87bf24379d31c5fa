"""The part of the AGS4 dictionary, edition 4.1.1, that is written here: data, and nothing else.

Headings in the order of the dictionary, each with status, type and unit; descriptions of types,
units and codes word for word, since readers of a file compare them.

Source:
    AGS4 dictionary 4.1.1 as published by the Association of Geotechnical and Geoenvironmental
    Specialists; the tests compare this page with it.
"""

from typing import NamedTuple

EDITION = "4.1.1"


class Heading(NamedTuple):
    """A column of a group."""

    name: str
    status: str
    """KEY, REQUIRED, KEY+REQUIRED or OTHER."""
    type: str
    """A key of `TYPES`."""
    unit: str
    """A key of `UNITS`; empty where there is none."""

    @property
    def is_key(self) -> bool:
        """Whether rows are told apart by it."""
        return "KEY" in self.status

    @property
    def is_required(self) -> bool:
        """Whether it may not be empty."""
        return "REQUIRED" in self.status


def _read(table: str) -> tuple[Heading, ...]:
    """Headings from lines of name, status, type and perhaps unit."""
    lines = [line.split() for line in table.strip().splitlines()]
    return tuple(Heading(line[0], line[1], line[2], [*line, ""][3]) for line in lines)


GROUPS: dict[str, tuple[Heading, ...]] = {
    "PROJ": _read(
        """
        PROJ_ID KEY+REQUIRED ID
        PROJ_NAME OTHER X
        PROJ_LOC OTHER X
        PROJ_CLNT OTHER X
        PROJ_CONT OTHER X
        PROJ_ENG OTHER X
        PROJ_MEMO OTHER X
        """
    ),
    "TRAN": _read(
        """
        TRAN_ISNO KEY+REQUIRED X
        TRAN_DATE REQUIRED DT yyyy-mm-dd
        TRAN_PROD REQUIRED X
        TRAN_STAT REQUIRED X
        TRAN_DESC OTHER X
        TRAN_AGS REQUIRED X
        TRAN_RECV REQUIRED X
        TRAN_DLIM OTHER X
        TRAN_RCON OTHER X
        TRAN_REM OTHER X
        """
    ),
    "TYPE": _read(
        """
        TYPE_TYPE KEY+REQUIRED X
        TYPE_DESC REQUIRED X
        """
    ),
    "UNIT": _read(
        """
        UNIT_UNIT KEY+REQUIRED X
        UNIT_DESC REQUIRED X
        """
    ),
    "ABBR": _read(
        """
        ABBR_HDNG KEY+REQUIRED X
        ABBR_CODE KEY+REQUIRED X
        ABBR_DESC REQUIRED X
        ABBR_LIST OTHER X
        """
    ),
    "LOCA": _read(
        """
        LOCA_ID KEY ID
        LOCA_NATE OTHER 2DP m
        LOCA_NATN OTHER 2DP m
        LOCA_GL OTHER 2DP m
        LOCA_REM OTHER X
        """
    ),
    "SAMP": _read(
        """
        LOCA_ID KEY ID
        SAMP_TOP KEY 2DP m
        SAMP_REF KEY X
        SAMP_TYPE KEY PA
        SAMP_ID KEY ID
        SAMP_BASE OTHER 2DP m
        SAMP_REM OTHER X
        SAMP_DESC OTHER X
        """
    ),
    "TREG": _read(
        """
        LOCA_ID KEY ID
        SAMP_TOP KEY 2DP m
        SAMP_REF KEY X
        SAMP_TYPE KEY PA
        SAMP_ID KEY ID
        SPEC_REF KEY X
        SPEC_DPTH KEY 2DP m
        SPEC_DESC OTHER X
        SPEC_PREP OTHER X
        TREG_TYPE OTHER PA
        TREG_COND OTHER PA
        TREG_COH OTHER 0DP kPa
        TREG_PHI OTHER 1DP deg
        TREG_FCR OTHER X
        TREG_REM OTHER X
        TREG_METH OTHER X
        TREG_LAB OTHER X
        TREG_CRED OTHER X
        TEST_STAT OTHER X
        FILE_FSET OTHER X
        SPEC_BASE OTHER 2DP m
        TREG_DEV OTHER X
        """
    ),
    "TRET": _read(
        """
        LOCA_ID KEY ID
        SAMP_TOP KEY 2DP m
        SAMP_REF KEY X
        SAMP_TYPE KEY PA
        SAMP_ID KEY ID
        SPEC_REF KEY X
        SPEC_DPTH KEY 2DP m
        TRET_TESN KEY X
        TRET_SDIA OTHER 2DP mm
        TRET_LEN OTHER 2DP mm
        TRET_IMC OTHER X %
        TRET_FMC OTHER X %
        TRET_BDEN OTHER 2DP Mg/m3
        TRET_DDEN OTHER 2DP Mg/m3
        TRET_SAT OTHER X
        TRET_CONS OTHER X
        TRET_CONP OTHER 0DP kPa
        TRET_CELL OTHER 0DP kPa
        TRET_PWPI OTHER 0DP kPa
        TRET_STRR OTHER 1DP %/hr
        TRET_STRN OTHER 1DP %
        TRET_DEVF OTHER 0DP kPa
        TRET_PWPF OTHER 0DP kPa
        TRET_STV OTHER 2DP %
        TRET_MODE OTHER PA
        TRET_REM OTHER X
        FILE_FSET OTHER X
        TRET_BACK OTHER 0DP kPa
        TRET_VERT OTHER 1DP %
        TRET_VOLM OTHER 1DP %
        TRET_RATE OTHER 1DP %/hr
        TRET_BVAL OTHER 2DP
        TRET_DRN OTHER X
        TRET_MEMB OTHER 0DP kPa
        TRET_FILC OTHER 0DP kPa
        TRET_IVR OTHER 3DP
        TRET_SATR OTHER 0DP %
        TRET_CVP OTHER 0DP kPa
        TRET_CRP OTHER 0DP kPa
        TRET_MEAN OTHER 0DP kPa
        TRET_CU OTHER 0DP kPa
        TRET_EP50 OTHER 2DP %
        TRET_E50 OTHER 2DP MPa
        """
    ),
    "ESCG": _read(
        """
        LOCA_ID KEY ID
        SAMP_TOP KEY 2DP m
        SAMP_REF KEY X
        SAMP_TYPE KEY PA
        SAMP_ID KEY ID
        SPEC_REF KEY X
        SPEC_DPTH KEY 2DP m
        SPEC_DESC OTHER X
        SPEC_PREP OTHER X
        ESCG_TYPE OTHER PA
        ESCG_CELL OTHER X
        ESCG_COND OTHER PA
        ESCG_SDIA OTHER 2DP mm
        ESCG_HIGT OTHER 2DP mm
        ESCG_MCI OTHER X %
        ESCG_MCF OTHER X %
        ESCG_BDEN OTHER 2DP Mg/m3
        ESCG_BDEF OTHER 2DP Mg/m3
        ESCG_DDEN OTHER 2DP Mg/m3
        ESCG_PDEN OTHER XN Mg/m3
        ESCG_IVR OTHER 3DP
        ESCG_SATR OTHER 0DP %
        ESCG_LOAD OTHER X
        ESCG_DRAG OTHER X
        ESCG_PPM OTHER X
        ESCG_SPRS OTHER 2SF kPa
        ESCG_SATM OTHER X
        ESCG_SINC OTHER 0DP kPa
        ESCG_SDIF OTHER 0DP kPa
        ESCG_CELF OTHER 0DP kPa
        ESCG_BACF OTHER 0DP kPa
        ESCG_BVAL OTHER 2DP
        ESCG_SVOL OTHER 1DP ml
        ESCG_REM OTHER X
        ESCG_METH OTHER X
        ESCG_LAB OTHER X
        ESCG_CRED OTHER X
        TEST_STAT OTHER X
        FILE_FSET OTHER X
        SPEC_BASE OTHER 2DP m
        ESCG_DEV OTHER X
        ESCG_ISVR OTHER 3DP
        ESCG_ISVS OTHER 0DP kPa
        ESCG_ISST OTHER 2DP %
        ESCG_PCP OTHER 0DP kPa
        ESCG_YSR OTHER 1DP
        ESCG_CC OTHER 3DP
        ESCG_CS OTHER 3DP
        """
    ),
    "ESCT": _read(
        """
        LOCA_ID KEY ID
        SAMP_TOP KEY 2DP m
        SAMP_REF KEY X
        SAMP_TYPE KEY PA
        SAMP_ID KEY ID
        SPEC_REF KEY X
        SPEC_DPTH KEY 2DP m
        ESCT_INCN KEY X
        ESCT_REM OTHER X
        ESCT_INCC OTHER 0DP kPa
        ESCT_INCB OTHER 0DP kPa
        ESCT_PWP0 OTHER 0DP kPa
        ESCT_PWPF OTHER 0DP kPa
        ESCT_INCF OTHER 0DP kPa
        ESCT_VR0 OTHER 3DP
        ESCT_VRE OTHER 3DP
        ESCT_DISS OTHER 0DP %
        ESCT_DSET OTHER 3DP mm
        ESCT_DVOL OTHER 1DP ml
        ESCT_INMV OTHER 2SF m2/MN
        ESCT_INCV OTHER 2SF m2/yr
        ESCT_INSC OTHER 2SF
        ESCT_CVME OTHER X
        ESCT_TEMP OTHER 1DP DegC
        FILE_FSET OTHER X
        ESCT_INK OTHER XN m/s
        """
    ),
    "TRIG": _read(
        """
        LOCA_ID KEY ID
        SAMP_TOP KEY 2DP m
        SAMP_REF KEY X
        SAMP_TYPE KEY PA
        SAMP_ID KEY ID
        SPEC_REF KEY X
        SPEC_DPTH KEY 2DP m
        SPEC_DESC OTHER X
        SPEC_PREP OTHER X
        TRIG_TYPE OTHER PA
        TRIG_COND OTHER PA
        TRIG_REM OTHER X
        TRIG_METH OTHER X
        TRIG_LAB OTHER X
        TRIG_CRED OTHER X
        TEST_STAT OTHER X
        FILE_FSET OTHER X
        SPEC_BASE OTHER 2DP m
        TRIG_DEV OTHER X
        """
    ),
    "TRIT": _read(
        """
        LOCA_ID KEY ID
        SAMP_TOP KEY 2DP m
        SAMP_REF KEY X
        SAMP_TYPE KEY PA
        SAMP_ID KEY ID
        SPEC_REF KEY X
        SPEC_DPTH KEY 2DP m
        TRIT_TESN KEY X
        TRIT_SDIA OTHER 2DP mm
        TRIT_SLEN OTHER 2DP mm
        TRIT_IMC OTHER X %
        TRIT_FMC OTHER X %
        TRIT_CELL OTHER 0DP kPa
        TRIT_DEVF OTHER 0DP kPa
        TRIT_BDEN OTHER 2DP Mg/m3
        TRIT_DDEN OTHER 2DP Mg/m3
        TRIT_STRN OTHER 2SF %
        TRIT_CU OTHER 0DP kPa
        TRIT_MODE OTHER PA
        TRIT_REM OTHER X
        FILE_FSET OTHER X
        TRIT_FZWC OTHER X %
        TRIT_RATE OTHER 2SF %/min
        """
    ),
    "FILE": _read(
        """
        FILE_FSET KEY+REQUIRED X
        FILE_NAME KEY+REQUIRED X
        FILE_DESC OTHER X
        FILE_TYPE OTHER PA
        FILE_PROG OTHER X
        FILE_DOCT OTHER PA
        FILE_DATE OTHER DT yyyy-mm-ddThh:mm
        """
    ),
}
"""Every group that is written, in the order of the file. Of the general groups only those headings
that a test can fill; of the tests all."""

TYPES = {
    "0DP": "Value; required number of decimal places, 0",
    "1DP": "Value; required number of decimal places, 1",
    "2DP": "Value; required number of decimal places, 2",
    "2SF": "Value; required number of significant figures, 2",
    "3DP": "Value; required number of decimal places, 3",
    "DT": "Date time in international format",
    "ID": "Unique Identifier",
    "PA": "Text listed in ABBR Group",
    "X": "Text",
    "XN": "Text/numeric",
}
"""Data types that these headings use."""

UNITS = {
    "%": "percentage",
    "%/hr": "percentage per hour",
    "%/min": "percentage per minute",
    "DegC": "degree Celsius",
    "MPa": "megaPascal",
    "Mg/m3": "megagrams per cubic metre",
    "deg": "degree (angle)",
    "kPa": "kiloPascal",
    "m": "metre",
    "m/s": "metres per second",
    "m2/MN": "square metres per megaNewton",
    "m2/yr": "square metres per year",
    "ml": "millilitre",
    "mm": "millimetre",
    "yyyy-mm-dd": "year month day",
    "yyyy-mm-ddThh:mm": "year month day hours minutes",
}
"""Units that these headings use."""

CODES: dict[str, dict[str, str]] = {
    "SAMP_TYPE": {
        "B": "Bulk disturbed sample",
        "BLK": "Block sample",
        "C": "Core sample",
        "D": "Small disturbed sample",
        "L": "Liner sample (dynamic)",
        "LB": "Large bulk disturbed sample (for earthworks testing)",
        "M": "Mazier type sample",
        "MOS": "Mostap sample",
        "P": "Piston sample",
        "TW": "Thin walled push in sample",
        "U": "Undisturbed sample - open drive",
        "UT": "Thin wall open drive tube sampler",
    },
    "TREG_TYPE": {
        "CD": "Consolidated drained (single stage)",
        "CU": "Consolidated undrained with pwp measurement (single stage)",
    },
    "TRIG_TYPE": {"UU": "Unconsolidated quick undrained (single stage)"},
    "ESCG_TYPE": {"CD": "Consolidated Drained", "CU": "Consolidated Undrained"},
    "TREG_COND": {"REMOULDED": "Remoulded", "UNDISTURBED": "Undisturbed"},
    "TRIG_COND": {"REMOULDED": "Remoulded", "UNDISTURBED": "Undisturbed"},
    "ESCG_COND": {"REMOULDED": "Remoulded", "UNDISTURBED": "Undisturbed"},
    "TRET_MODE": {"Brittle": "Brittle"},
    "TRIT_MODE": {"Brittle": "Brittle"},
    "FILE_DOCT": {"RAW": "Raw data"},
}
"""Codes of the published list that a test may come to; others are the laboratory's own."""
