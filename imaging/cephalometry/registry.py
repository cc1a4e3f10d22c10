"""Every analysis, found by its file, and every measure, in the order in which they are told."""

import pkgutil
from importlib import import_module

from imaging.cephalometry import analyses
from imaging.cephalometry.measure import Analysis, Measure, Norm

ANALYSIS_ORDER = (
    "steiner downs tweed ricketts mcnamara wits bjork_jarabak holdaway lip_lines vertical_indicators incisor_overlap"
).split()
MEASURE_ORDER = (
    "sna snb anb snd sn_fh sn_go_gn sn_go_me sn_mp fma fmia impa op_sn op_fh u1_na u1_na_mm l1_nb l1_nb_mm u1_sn "
    "u1_fh interincisal pog_nb_mm holdaway_ratio s_l s_e facial_angle facial_depth convexity convexity_mm ab_plane "
    "y_axis facial_axis lower_face_height mandibular_arc maxillary_depth u6_ptv_mm wits u1_apog_mm l1_apog_mm "
    "l1_apog l1_op saddle articular gonial gonial_upper gonial_lower bjork_sum s_go n_me height_ratio a_nperp_mm "
    "pog_nperp_mm u1_a_vert_mm co_a co_gn ans_me pp_fh odi apdi eline_upper eline_lower s_line_upper s_line_lower "
    "h_angle h_angle_nb nasolabial overjet_mm overbite_mm"
).split()


def _scanned() -> dict[str, Analysis]:
    found: dict[str, Analysis] = {}
    for module in pkgutil.iter_modules(analyses.__path__):
        analysis = getattr(import_module(f"{analyses.__name__}.{module.name}"), "ANALYSIS", None)
        if not isinstance(analysis, Analysis) or analysis.key != module.name:
            raise ImportError(f"cephalometry/analyses/{module.name}.py has no ANALYSIS with that key")
        found[analysis.key] = analysis
    known = [key for key in ANALYSIS_ORDER if key in found]
    return {key: found[key] for key in (*known, *sorted(found.keys() - set(known)))}


def _gathered(scanned: dict[str, Analysis]) -> dict[str, Measure]:
    found: dict[str, Measure] = {}
    for analysis in scanned.values():
        for measure in analysis.measures:
            if measure.key in found:
                raise ImportError(
                    f"cephalometry/analyses/{analysis.key}.py defines {measure.key} a second time"
                )
            found[measure.key] = measure
    for analysis in scanned.values():
        unknown = [norm.measure for norm in analysis.norms if norm.measure not in found]
        if unknown:
            raise ImportError(
                f"cephalometry/analyses/{analysis.key}.py has norms for unknown measures: {', '.join(unknown)}"
            )
    known = [key for key in MEASURE_ORDER if key in found]
    return {key: found[key] for key in (*known, *sorted(found.keys() - set(known)))}


ANALYSES: dict[str, Analysis] = _scanned()
MEASURES: dict[str, Measure] = _gathered(ANALYSES)


def norms_of(measure: str) -> tuple[tuple[Analysis, Norm], ...]:
    """Every norm of a measure with its analysis, in the order of the analyses."""
    return tuple((a, norm) for a in ANALYSES.values() for norm in a.norms if norm.measure == measure)
