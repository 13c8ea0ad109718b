"""What moves the outcomes: screening, Sobol' indices, spread of coefficients, size of samples (floor 5).

Each function takes `evaluate`, which turns a table of cases into results, as
`toolkit.evaluate` does; nothing here knows the engine.
"""

from toolkit.findings.sensitivity.factors import Factors, factors_of
from toolkit.findings.sensitivity.indices import sobol
from toolkit.findings.sensitivity.sample_size import running_means
from toolkit.findings.sensitivity.screening import screen
from toolkit.findings.sensitivity.spread import spread_over
from toolkit.findings.sensitivity.spreads import SPREADS, coefficient_axes

__all__ = ["SPREADS", "Factors", "coefficient_axes", "factors_of", "running_means", "screen", "sobol", "spread_over"]
