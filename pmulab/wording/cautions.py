"""What is said on every output, whatever was found."""

CLOSING = "A studio's own comparison, not medical or product advice."
PRACTICE_CLOSING = "A studio's own record, not medical or product advice."
INVENTED = "Invented data for demonstration: no such clients exist."
CAPILLARIES = (
    "Visible capillaries along the lash line and carbon-based pigment of low density do not go "
    "together: iron-oxide pigment or decline (common practice, no source)."
)
CONTACTS = (
    "Contact lenses: out before work, and as long afterwards as her eye doctor or lens supplier "
    "says (common practice, no source)."
)
EYELIDS_DIFFER = (
    "Her eyelids differ (such as a scar, a droop, or vessels on one side). Look at that lid again "
    "before you work: on a lid that you would leave alone outside a study nothing is done, and "
    "what is new or unclear is for her physician first (common practice, no source)."
)
EYELIDS_UNKNOWN = (
    "Nobody has noted whether her eyelids are alike: look at both lids before you work. What is "
    "new or unclear is for her physician first (common practice, no source)."
)
CAUTIONS = (
    "This is no medical advice. Local codes, licence, insurance and the client's consent come "
    "first; the client's physician overrides everything said here.",
    "Eyelid work lies beside the eye. Stop and refer at once on eye pain, changed vision, "
    "suspected injury of the cornea, infection or an allergic reaction. Numbing can mask pain.",
    CAPILLARIES,
    "A comparison never decides who may be treated. Who should not be treated is not treated, "
    "and not enrolled.",
    "Publishing beyond the study group may need an ethics review.",
)
