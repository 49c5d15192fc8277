# The front desk: every name that a notebook needs, each written once, beside the room it lives in. `__init__.py` reads this
# file and loads a room when one of its names is first asked for; type checkers read it too.

from .adapting.cohort.changed_since import cohort_stamp
from .adapting.cohort.copies import cohort_copy
from .adapting.compare.comparison import compare_sites
from .adapting.site_desk import adapt_site
from .care.action.curves import action_curves
from .care.action.handbooks import handbook_misses
from .care.action.studies import misses, scoreboard
from .care.bench.bench import run
from .care.bench.runs import bench_for, right_run, vial_of
from .care.bench.variants import right_variant, wrong_run
from .care.day.planning import day_plan
from .care.decision.deciding import decide
from .care.dosing import plan_dose
from .care.low.treatment import walk
from .care.order.checking import order_concerns
from .care.order.lesson import lesson_order
from .care.review.findings import review
from .facts.citations import sources
from .pages.order_answer import printed_steps
from .panels.action import when_it_acts
from .panels.bench import draw_up, second_nurse
from .panels.decision import bedside
from .panels.dose import live_dose
from .panels.low import treat_low
from .panels.order import order_check
from .quantities import Glucose, units_text
from .ward.meal import Meal
from .ward.meter import read_meter
from .ward.observation import Earlier, Observation
from .ward.order.reading import read_order
from .ward.site.in_force import example_sites, load_site, site_in_force, use_site
from .ward.site.record import teaching_site
from .ward.site.writing import site_text, write_site_file
from .ward.syringe import syringes
from .words import say
