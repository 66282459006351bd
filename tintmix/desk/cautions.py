"""What a maker has to know before mixing, in our own words. Common practice; the data sheet goes before all of it."""

CAUTIONS = (
    "Isocyanates (the hardener of urethane resins) and epoxy resins with their hardeners can make you allergic "
    "for life, through the lungs or the skin. Wear nitrile gloves, and work under extraction or with the "
    "respirator that the data sheet names. "
    "Stop and see a doctor at the first wheeze or rash.",
    "Mixed resin heats itself, a large pour more than a chip: it can smoke, crack or burn. Keep to the depth "
    "that the data sheet "
    "allows, and never leave mixed leftovers in a heap.",
    "Cure in an oven that is never used for food, within the temperature of the resin and of the mould.",
    "Sanding dust of cured resin is harmful too: sand wet, or with extraction and a dust mask.",
    "What serves as lighting, for safety, for food or for children falls under local rules, which a colour "
    "says nothing about.",
    "Where the resin's or the pigment's data sheet says otherwise, the data sheet is right.",
    "A screen is not a proof: pour and look at a trial chip as thick as the part before you tint the batch.",
)
