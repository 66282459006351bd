from tintmix.pictures.against_thickness import thickness_picture as thickness_picture
from tintmix.pictures.chart import chart_picture as chart_picture
from tintmix.pictures.residuals import residuals_picture as residuals_picture
from tintmix.pictures.save import save_picture as save_picture
from tintmix.pictures.strengths import strengths_picture as strengths_picture
from tintmix.pictures.strip import too_dark as too_dark
from tintmix.pictures.swatches import swatches_picture as swatches_picture
from tintmix.pictures.wedge import wedge_picture as wedge_picture
