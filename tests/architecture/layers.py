"""The rooms from top to bottom, written once; the import test, the foreign-key test and the guide's picture read it."""

# Python imports and foreign keys point downwards only; rooms on one line never use each other.
LAYERS: tuple[tuple[str, ...], ...] = (
    ("config",),
    ("running",),
    ("demo", "bundles"),
    ("desk", "studyclub", "program"),
    ("dossier",),
    ("plans",),
    ("rounds",),
    ("scoring", "imaging"),
    ("portfolio",),
    ("press", "filing", "jobs"),
    ("accounts",),
)

# Inside one line, the exceptions: press and jobs keep what they make through filing.
ALLOWED_BESIDE: frozenset[tuple[str, str]] = frozenset({("press", "filing"), ("jobs", "filing")})

# Settings are read by Django, not imported by rooms; the start reads the name of the key file from its owner.
ALLOWED_UPWARDS: frozenset[tuple[str, str]] = frozenset({("running", "config.security")})

# Modules that import the standard library and each other only, so that they load where Django cannot.
# A name stands for the module or for the whole package.
PURE: tuple[str, ...] = (
    "dossier.reading_direction",
    "imaging.calibrating.on_paper",
    "imaging.calibration",
    "imaging.cephalometry",
    "imaging.deidentify",
    "imaging.dicom_codings",
    "imaging.dicom_files",
    "imaging.dicom_pixels",
    "imaging.dicom_reading",
    "imaging.file_facts",
    "imaging.file_kinds",
    "imaging.file_spacing",
    "imaging.greys",
    "imaging.heif_files",
    "imaging.intake_limits",
    "imaging.geometry",
    "imaging.jpeg_scans",
    "imaging.norms.places",
    "imaging.marking.crops",
    "imaging.marking.in_plane",
    "imaging.marking.measures",
    "imaging.operations",
    "imaging.tiff_fields",
    "imaging.repeats.pairs",
    "imaging.superimposing.drawing",
    "imaging.superimposing.staged",
    "imaging.tiff_files",
    "imaging.steps.answers",
    "imaging.steps.history",
    "imaging.tracing.on_picture",
    "imaging.tracing.outlines",
    "imaging.webp_files",
    "plans.answers",
    "plans.calendar_file",
    "plans.document",
    "plans.facts",
    "plans.moments",
    "plans.plan_file",
    "plans.plan_reading",
    "plans.record_names",
    "plans.requirements",
    "plans.windows",
    "plans.selection",
    "portfolio.ages",
    "portfolio.case_log.answers",
    "portfolio.cast_chart",
    "portfolio.cast_places",
    "portfolio.code_errors",
    "portfolio.codes",
    "portfolio.contradictions",
    "portfolio.error_sources",
    "portfolio.errors",
    "portfolio.events",
    "portfolio.finding_sheet",
    "portfolio.photographs",
    "portfolio.quantities",
    "portfolio.quantity",
    "portfolio.readings",
    "portfolio.repeated",
    "portfolio.repeating.pairs",
    "portfolio.repeats",
    "portfolio.searching",
    "portfolio.sites",
    "portfolio.source",
    "portfolio.sources",
    "portfolio.teeth",
    "portfolio.text_files",
    "portfolio.tracing_sources",
    "portfolio.typed",
    "portfolio.vocabulary",
    "portfolio.wording",
    "scoring.compare",
    "scoring.components",
    "scoring.digests",
    "scoring.facts",
    "scoring.front_and_sides",
    "scoring.front_contacts",
    "scoring.frozen",
    "scoring.hints",
    "scoring.hits",
    "scoring.index",
    "scoring.indices",
    "scoring.kernel",
    "scoring.measured_shapes",
    "scoring.moved",
    "scoring.named_bands",
    "scoring.present",
    "scoring.other_readings",
    "scoring.point_words",
    "scoring.presets",
    "scoring.registry",
    "scoring.result",
    "scoring.score_print",
    "scoring.shapes",
    "scoring.spread_print",
    "scoring.step_words",
    "scoring.tally",
    "scoring.tally_causes",
    "scoring.uncertainty",
    "scoring.weakest",
)


def existing_layers(rooms: set[str]) -> tuple[tuple[str, ...], ...]:
    """The lines with the rooms that stand already, for the guide's picture."""
    lines = (tuple(room for room in line if room in rooms) for line in LAYERS)
    return tuple(line for line in lines if line)


def picture(rooms: set[str]) -> str:
    """The guide's picture: one line for each layer, imports point downwards."""
    return "\n".join("  ".join(line) for line in existing_layers(rooms))
