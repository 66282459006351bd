from tintmix.chips.chip import ChipSet as ChipSet
from tintmix.chips.folder import read_chips as read_chips
from tintmix.chips.folder import write_chips as write_chips
from tintmix.errors import TintmixError as TintmixError
from tintmix.optics.detector import known_lights as known_lights
from tintmix.optics.section import Section as Section
from tintmix.pigments.fit import fit as fit
from tintmix.pigments.model import Look as Look
from tintmix.pigments.model import TintModel as TintModel
from tintmix.pigments.model_file import load_model as load_model
from tintmix.pigments.model_file import save_model as save_model
from tintmix.recipes.casting import read_places as read_places
from tintmix.recipes.insert_paint import paint_for as paint_for
from tintmix.recipes.solve import Answer as Answer
from tintmix.recipes.solve import Outcome as Outcome
from tintmix.recipes.solve import solve as solve
from tintmix.recipes.target import Target as Target
from tintmix.recipes.target_file import read_target as read_target
from tintmix.resin import Resin as Resin
from tintmix.resin import read_resin as read_resin

__version__: str
