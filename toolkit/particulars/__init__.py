"""Particulars of barge, tug, line, drives and wind, derived for any number of cases at once (floor 1)."""

from toolkit.particulars.added_mass import rectangle_sway_coefficient, sway_added_mass, yaw_added_inertia
from toolkit.particulars.barge import Barge, barge_from_displacement, barge_problems
from toolkit.particulars.common import Judged, Misfit
from toolkit.particulars.crew import Crew, crew_from_habits
from toolkit.particulars.drives import (
    THRUST_SPEED_LOSS,
    ducted_power,
    ducted_thrust,
    ram_coefficient,
    slew_rate,
    spool_rate,
    tandem_thrust_ratio,
    tandem_thrust_ratio_off_axis,
)
from toolkit.particulars.gusts import gust_harmonics, gust_phasors
from toolkit.particulars.hull_derivatives import SKEG_FORCE, clarke_derivatives, linear_hull_coefficients
from toolkit.particulars.hull_drag import (
    box_wetted_surface,
    depth_corrected_coefficient,
    depth_factor,
    friction_polynomial,
    ittc57_friction_coefficient,
    ship_wetted_surface,
    ufc_deep_coefficient,
)
from toolkit.particulars.towline import (
    MATERIALS,
    Material,
    line_damping,
    line_stiffness,
    line_weight,
    sag_matters,
    strain_at_break,
    stretch_fade,
    towline_mbl,
)
from toolkit.particulars.tug import Tug, tug_from_bollard_pull, tug_problems
from toolkit.particulars.tug_shares import AZIMUTH_STERN_DRIVE, CONVENTIONAL, TRACTOR
from toolkit.particulars.wash import JET_SPREAD, wash_strength
from toolkit.particulars.wind import (
    AIR_DENSITY,
    BARGE_WIND,
    STATIC_RULE_FACTOR,
    TUG_WIND,
    WindShape,
    height_factor,
    static_beam_wind_force,
)

__all__ = [
    "AIR_DENSITY",
    "AZIMUTH_STERN_DRIVE",
    "BARGE_WIND",
    "CONVENTIONAL",
    "JET_SPREAD",
    "MATERIALS",
    "SKEG_FORCE",
    "STATIC_RULE_FACTOR",
    "THRUST_SPEED_LOSS",
    "TRACTOR",
    "TUG_WIND",
    "Barge",
    "Crew",
    "Judged",
    "Material",
    "Misfit",
    "Tug",
    "WindShape",
    "barge_from_displacement",
    "barge_problems",
    "box_wetted_surface",
    "clarke_derivatives",
    "crew_from_habits",
    "depth_corrected_coefficient",
    "depth_factor",
    "ducted_power",
    "ducted_thrust",
    "friction_polynomial",
    "gust_harmonics",
    "gust_phasors",
    "height_factor",
    "ittc57_friction_coefficient",
    "line_damping",
    "line_stiffness",
    "line_weight",
    "linear_hull_coefficients",
    "ram_coefficient",
    "rectangle_sway_coefficient",
    "sag_matters",
    "ship_wetted_surface",
    "slew_rate",
    "spool_rate",
    "static_beam_wind_force",
    "strain_at_break",
    "stretch_fade",
    "sway_added_mass",
    "tandem_thrust_ratio",
    "tandem_thrust_ratio_off_axis",
    "towline_mbl",
    "tug_from_bollard_pull",
    "tug_problems",
    "ufc_deep_coefficient",
    "wash_strength",
    "yaw_added_inertia",
]
