"""Every public name of packsim and where it lives: the one list of them.

``packsim/__init__.py`` reads it, and loads a name when it is first used.
"""

from packsim.answers import answer_stage as answer_stage
from packsim.answers.answer_settings import answer_settings as answer_settings
from packsim.answers.mat_heat import oven_heat_rows as compare_mats
from packsim.can import Can as Can
from packsim.catalogue import can_size as can_size
from packsim.catalogue import catalogue_sizes as catalogue_sizes
from packsim.catalogue import custom_can as custom_can
from packsim.chance import chance_of as chance_of
from packsim.compare import compare_lines as compare_lines
from packsim.compare import tip_draws as tip_draws
from packsim.counts.order import Order as RunOrder
from packsim.doubt import doubt as doubt_line
from packsim.errors import InputError as InputError
from packsim.errors import PacksimError as PacksimError
from packsim.headers import check_headers as check_headers
from packsim.headers import design_headers as design_headers
from packsim.headers import find_shifts as find_shifts
from packsim.line import Scenario as Scenario
from packsim.line.input_range import with_value as with_value
from packsim.look import look_at as look_at
from packsim.look import measure_pack as measure_pack
from packsim.money.proposal import propose as propose_change
from packsim.pack.state import Pack as Pack
from packsim.pack.state import candidate_packs as candidate_packs
from packsim.pack.state import pack_between as pack_between
from packsim.pack.voids import Voids as Voids
from packsim.pack.voids import find_voids as find_voids
from packsim.report.drawings.elevation_drawing import elevation_drawing as draw_elevation
from packsim.report.drawings.plan_drawing import plan_drawing as draw_plan
from packsim.report.files.as_json import as_json as as_json
from packsim.report.page.page import study_page as make_page
from packsim.report.words.display import Display as Display
from packsim.scenario import load_scenario as load_scenario
from packsim.scenario import parse_scenario as parse_scenario
from packsim.scenario import scenario_to_toml as scenario_to_toml
from packsim.scenario.figures import load_figures as load_figures
from packsim.scenario.trial_file import load_trials as load_trials
from packsim.size_change import apply_change as apply_change
from packsim.size_change import plan_change as plan_change
from packsim.study import Study as Study
from packsim.study import study_line as study_line
from packsim.sweep import sweep as sweep_stage
from packsim.trial import fit_trials as fit_trials
from packsim.trial import plan_trial as plan_trial
from packsim.trial import predict_fitted as predict_fitted
from packsim.why import reasons as explain_stage
