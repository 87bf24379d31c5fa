"""Who and what was tested: identification, the test, and the specimen as it was set up."""

from datetime import tzinfo

from reduce.record import Record
from tui.papers.condition import condition_of
from tui.papers.report.said import ByHand, Fact, Facts, Remarks, Section
from tui.papers.report.writing import Writer, text
from tui.papers.subject import Subject
from tui.settings.cell_toml import CellToml
from tui.words import NOTHING, date_and_time, sanitise

KIND_WORDS = {
    "CU": "consolidated undrained, pore pressure measured (CU)",
    "CD": "consolidated drained (CD)",
    "UU": "unconsolidated undrained, total stresses (UU)",
}

ASKED = {
    "project": "project",
    "hole": "borehole or pit",
    "sample": "sample",
    "top": "top of the sample",
    "depth": "depth of the specimen",
    "type": "type of sample",
    "description": "visual description",
    "classification": "classification (USCS or other)",
    "condition": "condition (intact, remoulded, reconstituted: how)",
    "liquid_limit": "liquid limit",
    "plastic_limit": "plastic limit",
    "operator": "tested by",
    "checker": "checked by",
}
"""What a report is asked to identify, by key of `[identity]` (after ASTM D4767 and BS 1377-8, from
memory); any other key that was written is shown as well."""

NOT_SAID = "whether measured or assumed is not said in the settings"


def identification(subject: Subject, zone: tzinfo) -> Section:
    """Identification and the test itself."""
    settings = subject.settings
    written = {} if settings is None else settings.identity
    facts = [
        Fact(label, text(written[key])) if _said(written.get(key)) else _unsaid(subject, key, label)
        for key, label in ASKED.items()
    ]
    facts += [
        Fact(sanitise(key).replace("_", " "), text(value) if _said(value) else None)
        for key, value in written.items()
        if key not in ASKED
    ]
    return Section(
        "Identification",
        (Facts((*_of_test(subject, zone), *facts)),),
        about=subject.name,
    )


def _unsaid(subject: Subject, key: str, label: str) -> Fact:
    found = condition_of(subject) if key == "condition" else None
    return Fact(label, found, "as the type of sample says" if found else "")


def _said(value: object) -> bool:
    return value is not None and text(value) != ""


def _of_test(subject: Subject, zone: tzinfo) -> tuple[Fact, ...]:
    settings = subject.settings
    if settings is None:
        return (Fact("cell", sanitise(subject.place.name)),)
    test, specimen = settings.test, settings.specimen
    record = None if subject.test is None else subject.test.record
    facts = [
        Fact("test", sanitise(test.id) if test.id else None),
        Fact("cell", sanitise(subject.place.name)),
        Fact("specimen", sanitise(specimen.label) if specimen.label else None),
        Fact("set", sanitise(specimen.set) if specimen.set else NOTHING),
        Fact("kind of test", KIND_WORDS[test.kind]),
        _standard(settings, record),
        Fact("edition of the standard", None),
    ]
    if record is not None and len(record.times_s):
        first, last = float(record.times_s[0]), float(record.times_s[-1])
        facts += [
            Fact("first reading", date_and_time(first, zone)),
            Fact("last reading", date_and_time(last, zone), f"times in {zone}"),
        ]
    return tuple(facts)


def _standard(settings: CellToml, record: Record | None) -> Fact:
    if settings.test.standard is not None:
        return Fact("standard", f"after {settings.test.standard}")
    assumed = "" if record is None else f"after {record.followed_standard}"
    return Fact("standard", assumed or None, "assumed: none is stated in the settings")


def specimen(subject: Subject, writer: Writer) -> Section:
    """Dimensions, masses and phase relations at set-up, each with its uncertainty."""
    settings = subject.settings
    if settings is None:
        return Section("Specimen", (Remarks(("no specimen could be read from the settings",)),))
    given = settings.specimen
    facts = [
        Fact(f"{label}, as measured", writer.readings(readings, "mm"))
        for label, readings in (
            ("diameter", given.diameter_readings_mm),
            ("height", given.height_readings_mm),
        )
    ]
    if subject.found is not None:
        facts += writer.facts(
            "specimen",
            {
                "height_mm": ("height", "mm"),
                "diameter_mm": ("diameter", "mm"),
            },
        )
        at = subject.found.stages.specimen
        facts.append(Fact("height over diameter", f"{at.height_mm / at.diameter_mm:.2f}"))
        facts += writer.facts(
            "specimen", {"area_mm2": ("area", "mm²"), "volume_ml": ("volume", "ml")}
        )
    facts += [
        Fact("moist mass", None if given.mass_g is None else f"{given.mass_g:g} g"),
        _water(given.water_content, "water content of the trimmings"),
    ]
    if subject.found is not None:
        facts += [
            writer.fact("water content of the specimen", "specimen.water_content", "%"),
            writer.fact("bulk density", "specimen.moist_density_Mg_m3", "Mg/m³"),
            writer.fact("dry density", "specimen.dry_density_Mg_m3", "Mg/m³"),
        ]
    facts.append(_particles(settings, writer))
    if subject.found is not None:
        facts += [
            writer.fact("void ratio", "specimen.void_ratio"),
            writer.fact("degree of saturation", "specimen.saturation", "%"),
        ]
    return Section("Specimen at set-up", (Facts(tuple(facts)),), about=subject.name)


def _water(content: float | None, label: str) -> Fact:
    return Fact(label, None if content is None else f"{100.0 * content:.2f} %")


def _particles(settings: CellToml, writer: Writer) -> Fact:
    given = settings.specimen
    how = "measured" if "particle_density_assumed" in given.model_fields_set else NOT_SAID
    how = "assumed, not measured" if given.particle_density_assumed else how
    if given.particle_density_Mg_m3 is not None:
        density = writer.plain(given.particle_density_Mg_m3, "Mg/m³")
        return Fact("density of particles", density, how)
    if given.specific_gravity is not None:
        return Fact("specific gravity of particles", f"{given.specific_gravity:g}", how)
    return Fact("density of particles", None)


def after_test(subject: Subject, writer: Writer) -> Section:
    """What the specimen weighed when it was taken out, and how it had failed."""
    settings = subject.settings
    given = None if settings is None else settings.specimen
    facts = [
        _water(None if given is None else given.final_water_content, "final water content"),
        Fact("dry mass", f"{given.dry_mass_g:g} g" if given and given.dry_mass_g else None),
    ]
    facts += writer.facts(
        "after_test",
        {
            "water_content": ("water content at the end", "%"),
            "void_ratio": ("void ratio", ""),
            "saturation": ("degree of saturation", "%"),
            "water_content_full": ("water content that fills all voids", "%"),
            "water_read_ml": ("water in it by the readings", "ml"),
            "water_weighed_ml": ("water in it as weighed", "ml"),
            "water_balance_ml": ("water read less water weighed", "ml"),
        },
    )
    facts += [
        Fact("mode of failure (bulge, shear plane, both)", None),
        Fact("angle of the shear plane to the horizontal", None),
        Fact("largest particle found", None),
        Fact("photographs", None),
    ]
    return Section(
        "After the test",
        (Facts(tuple(facts)), ByHand("Sketch or photograph of the failed specimen", 45.0)),
        about=subject.name,
    )
