"""What the bench page of a plan says of the work after it: the commands that go on."""

from __future__ import annotations

from tintmix.desk.plan.text import GoingOn
from tintmix.faces.remedies import told_in_shell

GOING_ON = GoingOn(
    colours="Write them into chips.csv (or `tintmix read`).",
    photos="Bring the photos in with `tintmix read {set} --photo chips.dng --panel bare.dng` (raw; JPEGs are rough). Without "
    "the sheet name each chip's place in the photo: `--at CHIP=x,y,width,height`.",
    spectra="Bring the file in with `tintmix read {set} --from FILE`.",
    several="take several photos, and say `--number 1`, `--number 2` … with each.",
    fit="Then `tintmix fit {set} --model FILE`.",
    fit_together="Then fit them together with the chips that {model} was made from: `tintmix fit OLD-SET {set} --model FILE`.",
    told=told_in_shell,
)
