"""Where a finding was made: the grammar of sites and what lies inside a wider one.

tooth `16`; contact `13-12` (neighbours, from the patient's right to left); cusp `16.mb`;
side `right`; arch `upper`; segment `upper-right-back`; `mouth`.
"""

from functools import lru_cache

from portfolio import teeth

SIDES = ("right", "left")
ARCHES = ("upper", "lower")
SEGMENTS = tuple(
    f"{arch}-{part}" for arch in ARCHES for part in ("right-back", "right-front", "left-front", "left-back")
)
BACK_SEGMENTS = tuple(s for s in SEGMENTS if s.endswith("-back"))
REGIONS = ("mouth", *ARCHES, *SIDES, *SEGMENTS)
CUSPS_OF_PREMOLARS = ("b", "l")
CUSPS_OF_MOLARS = ("mb", "db", "ml", "dl")

_WIDTH = {"mouth": 3} | dict.fromkeys((*ARCHES, *SIDES), 2) | dict.fromkeys(SEGMENTS, 1)


@lru_cache(maxsize=4096)
def kind(site: str) -> str:
    """tooth, contact, cusp, side, arch, segment or mouth; an empty text for anything else."""
    if site in teeth.ALL_TEETH:
        return "tooth"
    for name, members in (("mouth", ("mouth",)), ("side", SIDES), ("arch", ARCHES), ("segment", SEGMENTS)):
        if site in members:
            return name
    if len(site) == 5 and site[2] == "-" and {site[:2], site[3:]} <= teeth.ALL_TEETH:
        return "contact" if site[:2] != site[3:] else ""
    tooth, dot, cusp = site.partition(".")
    return "cusp" if dot and tooth in teeth.ALL_TEETH and cusp in cusps(tooth) else ""


def cusps(tooth: str) -> tuple[str, ...]:
    """Cusps of a posterior tooth; `dc`, the distal cusp, on lower molars only.

    Primary molars stand at premolar places and have molar cusps.
    """
    if not teeth.is_posterior(tooth):
        return ()
    if tooth[1] in "45" and not teeth.is_primary(tooth):
        return CUSPS_OF_PREMOLARS
    return (*CUSPS_OF_MOLARS, "dc") if teeth.arch(tooth) == "lower" else CUSPS_OF_MOLARS


@lru_cache(maxsize=4096)
def teeth_of(site: str) -> tuple[str, ...]:
    """The teeth that a tooth, contact or cusp names; none for wider sites."""
    match kind(site):
        case "tooth":
            return (site,)
        case "contact":
            return (site[:2], site[3:])
        case "cusp":
            return (site[:2],)
    return ()


@lru_cache(maxsize=8192)
def tooth_in(region: str, tooth: str) -> bool:
    """Whether a tooth lies in a region (mouth, arch, side, segment); back = behind the canine."""
    if region == "mouth":
        return True
    if region in ARCHES:
        return teeth.arch(tooth) == region
    if region in SIDES:
        return teeth.side(tooth) == region
    part = "back" if teeth.is_posterior(tooth) else "front"
    return region == f"{teeth.arch(tooth)}-{teeth.side(tooth)}-{part}"


@lru_cache(maxsize=8192)
def inside(region: str, site: str) -> bool:
    """Whether a narrower site lies wholly inside a region.

    The contact behind the canine borders two segments and belongs to the back one.
    """
    if site == region or region == "mouth":
        return True
    match kind(site):
        case "contact" if region in SEGMENTS:
            first, second = teeth_of(site)
            distal = max(first, second, key=teeth.number)
            return tooth_in(region, distal) and teeth.side(first) == teeth.side(second)
        case "tooth" | "contact" | "cusp":
            return all(tooth_in(region, t) for t in teeth_of(site))
        case "segment":
            return region in site.split("-")
    return False


def width(region: str) -> int:
    """How wide a region is: segment 1, side and arch 2, mouth 3; 0 for single sites."""
    return _WIDTH.get(region, 0)


def mirror(site: str) -> str:
    """The same site of the other side; contacts are turned so that they still go from right to left."""
    match kind(site):
        case "tooth":
            return teeth.mirror(site)
        case "contact":
            first, second = teeth_of(site)
            return f"{teeth.mirror(second)}-{teeth.mirror(first)}"
        case "cusp":
            return teeth.mirror(site[:2]) + site[2:]
        case "side":
            return "left" if site == "right" else "right"
        case "segment":
            return site.replace("right", "*").replace("left", "right").replace("*", "left")
    return site
