"""What a reduction and an envelope are made of, in words: methods, grounds, criteria."""

METHOD_WORDS = {
    "root_time": "root time",
    "log_time": "log time",
    "fit": "exact series",
    "method_a": "method A after ASTM",
    "method_b": "method B after ASTM",
    "isotropic": "equal strain, after BS 1377-8",
}
"""By method of consolidation, or of the dimensions after it."""

BELOW_TARGET = "below target"
"""The one ground on which an engineer's word decides whether a B is accepted."""

GROUND_WORDS = {
    "no check": "no check was made",
    "not settled": "pore pressure had not settled",
    "too high": "B is too high",
    "target": "target reached",
    "unchanged": "unchanged over further increments",
    BELOW_TARGET: "below the target",
}
"""Why a saturation is accepted or is not."""

CRITERION_WORDS = {
    "peak_deviator": "greatest deviator",
    "peak_ratio": "greatest ratio σ′1/σ′3",
    "strain_limit": "at the strain limit",
}
"""What counts as failure."""

LINE_WORDS = {
    "weighted": "weighted least squares on p′ and q",
    "stress_points": "line through the tops, s′ and t′",
    "mohr_tangent": "tangent to Mohr's circles",
}
"""How the line of an envelope is laid."""
