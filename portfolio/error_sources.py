"""The part of the bibliography that errors of measurement name; keys begin with `error_`."""

from portfolio.source import Source

ERRORS = (
    Source(
        "error_widths",
        "Wedrychowska-Szulc B, Janiszewska-Olszowska J",
        "2005",
        "widths of one incisor on casts, two examiners: mean difference 0.1 mm",
        "Forum Ortod 1:20-24, abstract read",
    ),
    Source(
        "error_arch_space",
        "Study of two ways to measure available space",
        "2012",
        "caliper and brass wire: random error under 1 mm for one examiner",
        "S1980-65232012000300010, abstract read",
    ),
    Source(
        "error_angles",
        "Study of the smallest detectable differences of lateral cephalometric measurements",
        "2010",
        "1.86° for SNA, SNB and ANB, which comes to 0.67° for one measurement",
        "Am J Orthod Dentofacial Orthop, abstract read, its sign ambiguous, year from memory",
    ),
    Source(
        "error_own_repeats",
        "Dahlberg G",
        "1940",
        "error of one measurement from pairs of the reader's own",
        "formula from memory",
    ),
    Source(
        "error_of_finding",
        "The finding itself",
        "",
        "standard deviation recorded with the finding",
    ),
    Source(
        "error_of_portfolio",
        "The portfolio itself",
        "",
        "standard deviation set by whoever owns the portfolio, with its own source",
    ),
    Source(
        "error_judgement",
        "Foliowright",
        "2026",
        "error of measurement taken by default: our judgement, not published",
    ),
)
