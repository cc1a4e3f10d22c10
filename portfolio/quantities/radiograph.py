"""Measures of a lateral radiograph, typed or traced."""

from decimal import Decimal

from portfolio.quantity import MOUTH, Quantity, Unit

PLANE_DEPENDENT = ("sn_mp", "impa", "fma", "fmia")
PLANES = ("go_me", "go_gn", "tangent")
PLANE_LABELS = {"go_me": "Go–Me", "go_gn": "Go–Gn", "tangent": "tangent of the lower border"}

_DEFINITIONS = {
    "anb": "Angle SNA less SNB: how far the upper jaw base lies ahead of the lower. Keeps its sign.",
    "sn_mp": "Angle between sella–nasion and the mandibular plane; larger is steeper. The plane is named with the value.",
    "impa": "Angle between the long axis of the lower central incisor and the mandibular plane; larger is more proclined.",
    "sna": "Angle between sella–nasion and nasion–A.",
    "snb": "Angle between sella–nasion and nasion–B.",
}
_DEGREES = (
    "anb sn_mp impa sna snb snd sn_fh sn_go_gn sn_go_me fma fmia op_sn op_fh u1_na l1_nb u1_sn u1_fh interincisal "
    "facial_angle facial_depth convexity ab_plane y_axis facial_axis lower_face_height mandibular_arc maxillary_depth "
    "l1_apog l1_op saddle articular gonial gonial_upper gonial_lower bjork_sum pp_fh odi apdi h_angle h_angle_nb nasolabial"
).split()
_MILLIMETRES = (
    "u1_na_mm l1_nb_mm pog_nb_mm s_l s_e convexity_mm u6_ptv_mm wits u1_apog_mm l1_apog_mm s_go n_me a_nperp_mm "
    "pog_nperp_mm u1_a_vert_mm co_a co_gn ans_me eline_upper eline_lower s_line_upper s_line_lower overjet_mm overbite_mm"
).split()
_PER_CENT = ("height_ratio",)
_RATIOS = ("holdaway_ratio",)
_LABELS = {
    "anb": "ANB",
    "sn_mp": "SN to mandibular plane",
    "impa": "Lower incisor to mandibular plane",
    "sna": "SNA",
    "snb": "SNB",
    "snd": "SND",
    "sn_fh": "SN to Frankfort",
    "sn_go_gn": "SN to Go–Gn",
    "sn_go_me": "SN to Go–Me",
    "fma": "Frankfort to mandibular plane",
    "fmia": "Lower incisor to Frankfort",
    "op_sn": "Occlusal plane to SN",
    "op_fh": "Occlusal plane to Frankfort",
    "u1_na": "Upper incisor to NA, angle",
    "u1_na_mm": "Upper incisor to NA, distance",
    "l1_nb": "Lower incisor to NB, angle",
    "l1_nb_mm": "Lower incisor to NB, distance",
    "u1_sn": "Upper incisor to SN",
    "u1_fh": "Upper incisor to Frankfort",
    "interincisal": "Interincisal angle",
    "pog_nb_mm": "Pogonion to NB",
    "holdaway_ratio": "Lower incisor to chin ratio",
    "s_l": "S–L",
    "s_e": "S–E",
    "facial_angle": "Facial angle",
    "facial_depth": "Facial depth",
    "convexity": "Angle of convexity",
    "convexity_mm": "Convexity of A",
    "ab_plane": "A–B plane",
    "y_axis": "Y axis to Frankfort",
    "facial_axis": "Facial axis",
    "lower_face_height": "Lower face height, angle",
    "mandibular_arc": "Mandibular arc",
    "maxillary_depth": "Maxillary depth",
    "u6_ptv_mm": "Upper molar to pterygoid vertical",
    "wits": "Wits",
    "u1_apog_mm": "Upper incisor to A–Pog",
    "l1_apog_mm": "Lower incisor to A–Pog, distance",
    "l1_apog": "Lower incisor to A–Pog, angle",
    "l1_op": "Lower incisor to occlusal plane, off 90°",
    "saddle": "Saddle angle",
    "articular": "Articular angle",
    "gonial": "Gonial angle",
    "gonial_upper": "Upper gonial angle",
    "gonial_lower": "Lower gonial angle",
    "bjork_sum": "Sum of Björk",
    "s_go": "Posterior face height",
    "n_me": "Anterior face height",
    "height_ratio": "Posterior to anterior face height",
    "a_nperp_mm": "A to nasion perpendicular",
    "pog_nperp_mm": "Pogonion to nasion perpendicular",
    "u1_a_vert_mm": "Upper incisor ahead of A",
    "co_a": "Effective midface length",
    "co_gn": "Effective mandibular length",
    "ans_me": "Lower anterior face height",
    "pp_fh": "Palatal plane to Frankfort",
    "odi": "Overbite depth indicator",
    "apdi": "Anteroposterior dysplasia indicator",
    "eline_upper": "Upper lip to E-line",
    "eline_lower": "Lower lip to E-line",
    "s_line_upper": "Upper lip to S-line",
    "s_line_lower": "Lower lip to S-line",
    "h_angle": "H angle to the soft facial plane",
    "h_angle_nb": "H angle to NB",
    "nasolabial": "Nasolabial angle",
    "overjet_mm": "Overjet on the film",
    "overbite_mm": "Overbite on the film",
}


def _measure(key: str, unit: Unit, low: int, high: int) -> Quantity:
    return Quantity(
        key=key,
        label=_LABELS[key],
        kind="number",
        unit=unit,
        minimum=Decimal(low),
        maximum=Decimal(high),
        site=MOUTH,
        group="radiograph",
        takes_plane=key in PLANE_DEPENDENT,
        method="tracing",
        source="cephalometry",
        definition=_DEFINITIONS.get(
            key, "A measure of the lateral radiograph; its points are defined with the tracing."
        ),
    )


QUANTITIES = (
    *(_measure(key, "deg", -90, 400) for key in _DEGREES),
    *(_measure(key, "mm", -100, 200) for key in _MILLIMETRES),
    *(_measure(key, "%", -100, 400) for key in _PER_CENT),
    *(_measure(key, "", -100, 200) for key in _RATIOS),
)
